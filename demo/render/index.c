// SPDX-License-Identifier: GPL-3.0-or-later
#include "index.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>

struct index {
    json_t *photos, *pairs;
};

struct index *index_create(void)
{
    struct index *index = calloc(1, sizeof *index);
    if (index == NULL) {
        return NULL;
    }
    index->photos = json_array();
    index->pairs = json_array();
    if (index->photos == NULL || index->pairs == NULL) {
        index_destroy(index);
        return NULL;
    }
    return index;
}

void index_destroy(struct index *index)
{
    if (index != NULL) {
        json_decref(index->photos);
        json_decref(index->pairs);
    }
    free(index);
}

void index_add_photo(struct index *index, const char *photo)
{
    json_array_append_new(index->photos, json_string(photo));
}

void index_add_pair(struct index *index, const char *immediate, const struct truth_shares *at_once,
                    const char *dried, const struct truth_shares *dried_first)
{
    json_array_append_new(index->pairs,
                          json_pack("{s:s,s:s,s:f,s:f,s:f,s:f,s:b}", "immediate", immediate,
                                    "dried", dried, "immediate_retained", at_once->retained,
                                    "dried_retained", dried_first->retained, "immediate_bound",
                                    at_once->bound, "dried_bound", dried_first->bound,
                                    "water_resistant_component", dried_first->water_resistant));
}

bool index_write(const struct index *index, const char *folder)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/index.json", folder);
    json_t *json = json_pack("{s:s,s:i,s:O,s:O}", "format", "strip-truth-1", "count",
                             (int)json_array_size(index->photos), "photos", index->photos,
                             "separate_pairs", index->pairs);
    bool ok =
        json != NULL && json_dump_file(json, path, JSON_INDENT(1) | JSON_REAL_PRECISION(8)) == 0;
    json_decref(json);
    return ok;
}
