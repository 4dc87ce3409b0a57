/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPURITY_H
#define SPURITY_SPURITY_H
/* spurity: saved sweeps of a transmitter in, a verdict that can be defended out.  The umbrella header.
 *
 * Threads: the library keeps no state of its own but a lock around FFTW's planner (spectrum.h).  One object is for one
 * thread at a time; what is const (a trace, a curve, a chain, rules, a finished survey, measurement, verdict or result)
 * may be read by any number at once. */
#include "bench/bench.h"
#include "capture/capture.h"
#include "chain/chain.h"
#include "emission/emission.h"
#include "error/error.h"
#include "input/input.h"
#include "measurement/measurement.h"
#include "output/output.h"
#include "plan/plan.h"
#include "result/result.h"
#include "rules/rules.h"
#include "spectrum/spectrum.h"
#include "trace/trace.h"
#include "uncertainty/uncertainty.h"
#include "units/units.h"
#include "verdict/verdict.h"
#endif
