/* SPDX-License-Identifier: MIT
 *
 * What all sources share: how one ends. Called by whoever opened a source.
 */
#include "loomwatch/sources/source.h"

void lw_source_finish(struct lw_source *source)
{
    if (source->self)
        source->ops->destroy(source->self);
    source->self = NULL;
    source->ops = NULL;
}
