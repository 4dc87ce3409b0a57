# SPDX-License-Identifier: GPL-2.0-or-later
# Help asked for goes to standard output with status 0; misuse goes to standard error with 2.
try "$SPURITY" --help
try "$SPURITY" help check
try "$SPURITY" measure f0.csv --help
try "$SPURITY" --version
