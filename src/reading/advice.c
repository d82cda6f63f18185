// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/reading.h"

#include <stdio.h>

/* The place of this cause, or of the next free one; SL_ADVICE_MAX of all strips' causes may be
 * there, and then the least gives way. */
static size_t place_of(const struct sl_reading_advice *list, enum sl_cause cause)
{
    size_t i = 0;
    while (i < list->count && list->item[i].advice->cause != cause)
        i++;
    return i;
}

static void add(struct sl_reading_advice *list, size_t strip, const struct sl_advice *advice)
{
    size_t at = place_of(list, advice->cause);
    if (at == SL_ADVICE_MAX)
        at--;
    if (at < list->count && list->item[at].advice->gain >= advice->gain)
        return;
    if (at == list->count)
        list->count++;
    for (; at > 0 && list->item[at - 1].advice->gain < advice->gain; at--)
        list->item[at] = list->item[at - 1];
    list->item[at].strip = strip;
    list->item[at].advice = advice;
}

void sl_reading_advise(const struct sl_reading *reading, struct sl_reading_advice *ret)
{
    *ret = (struct sl_reading_advice){0};
    for (size_t i = 0; i < reading->strip_count; i++)
        for (size_t k = 0; k < reading->strip[i].advice.count; k++)
            add(ret, i, &reading->strip[i].advice.item[k]);
}

void sl_reading_advice_words(const struct sl_reading *reading,
                             const struct sl_reading_advice *advice, size_t index, char *ret,
                             size_t size)
{
    char where[32] = "";
    if (reading->strip_count > 1)
        snprintf(where, sizeof where, " on strip %zu", advice->item[index].strip + 1);
    sl_advice_words(advice->item[index].advice, where, ret, size);
}
