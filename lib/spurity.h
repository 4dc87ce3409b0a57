/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPURITY_H
#define SPURITY_SPURITY_H
/* spurity: saved sweeps of a transmitter in, a verdict that can be defended out.  The umbrella header. */
#include "chain/chain.h"
#include "emission/emission.h"
#include "error/error.h"
#include "input/input.h"
#include "measurement/measurement.h"
#include "output/output.h"
#include "result/result.h"
#include "rules/rules.h"
#include "trace/trace.h"
#include "uncertainty/uncertainty.h"
#include "units/units.h"
#include "verdict/verdict.h"
#endif
