/* SPDX-License-Identifier: MIT
 *
 * From the word on the command line to a source: the one place that knows which kinds there are.
 */
#ifndef LOOMWATCH_APP_OPEN_SOURCE_H
#define LOOMWATCH_APP_OPEN_SOURCE_H

#include "options.h"

/* "bench:NAME" is a bench; a word that is a readable capture file, or has a slash or a dot in it, is a capture; anything
 * else is an interface. Returns 0 or -errno with message (at least LW_SOURCE_TEXT bytes). */
int lw_open_source(struct lw_source *out, const char *word, unsigned bus, const struct lw_options *options,
                   struct lw_pace pace, char *message);

/* True for words that name what never ends by itself: an interface or a bench. */
bool lw_is_endless(const char *word);

#endif
