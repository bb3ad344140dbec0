/* SPDX-License-Identifier: MIT */
#include "protocol/error_table_json.h"

#include "protocol/length.h"

static bool read_end(const cJSON *object, const char *name, int64_t *nm)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    return cJSON_IsString(item) && length_parse(item->valuestring, LENGTH_BARE_REFUSED, nm, NULL);
}

bool error_table_read(const cJSON *object, struct error_table *table)
{
    const cJSON *errors = cJSON_GetObjectItemCaseSensitive(object, "errors_nm");
    const cJSON *error;
    int64_t from_nm;
    int64_t to_nm;
    int count = 0;
    *table = (struct error_table){.count = 0};
    if (!cJSON_IsArray(errors) || !read_end(object, "from", &from_nm) ||
        !read_end(object, "to", &to_nm) ||
        !error_table_space(table, from_nm, to_nm, cJSON_GetArraySize(errors))) {
        return false;
    }
    cJSON_ArrayForEach(error, errors)
    {
        if (!cJSON_IsNumber(error) || error->valuedouble != (double)(int64_t)error->valuedouble) {
            return false;
        }
        table->error_nm[count++] = (int64_t)error->valuedouble;
    }
    return error_table_valid(table);
}

static bool add_end(cJSON *object, const char *name, int64_t nm)
{
    char text[LENGTH_TEXT_SIZE];
    length_print_exact(nm, text, sizeof text);
    return cJSON_AddStringToObject(object, name, text) != NULL;
}

bool error_table_add(cJSON *object, const struct error_table *table)
{
    bool any = table->count > 0;
    cJSON *member = cJSON_AddObjectToObject(object, "table");
    bool whole = add_end(member, "from", any ? table->said_nm[0] : 0) &&
                 add_end(member, "to", any ? table->said_nm[table->count - 1] : 0);
    cJSON *errors = cJSON_AddArrayToObject(member, "errors_nm");
    for (int i = 0; whole && errors && i < table->count; i++) {
        whole = cJSON_AddItemToArray(errors, cJSON_CreateNumber((double)table->error_nm[i]));
    }
    return whole && errors;
}
