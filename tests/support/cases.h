/* SPDX-License-Identifier: MIT
 *
 * What every cmocka test of this project begins with, and the number of rows of a table of cases.
 */
#ifndef LOOMWATCH_TEST_CASES_H
#define LOOMWATCH_TEST_CASES_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define N_ROWS(table) (sizeof(table) / sizeof((table)[0]))

#endif
