/* SPDX-License-Identifier: MIT
 *
 * One drawing for all tests of a program: set-up and tear-down of its group.
 */
#ifndef LOOMWATCH_TEST_DRAWING_GROUP_H
#define LOOMWATCH_TEST_DRAWING_GROUP_H

#include "drawing.h"

static struct drawing *drawing;

static inline int drawing_set_up(void **state)
{
    (void)state;
    drawing = drawing_create();
    return 0;
}

static inline int drawing_tear_down(void **state)
{
    (void)state;
    drawing_destroy(drawing);
    return 0;
}

#endif
