/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "../check.h"
int main(void){return 0;}
