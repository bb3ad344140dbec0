/* SPDX-License-Identifier: MIT */
#include "contrib/practice/practice.h"

#include <cjson/cJSON.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/random.h>
#include <unistd.h>

static double number(const cJSON *memory, const char *name, double otherwise)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(memory, name);
    return cJSON_IsNumber(item) ? item->valuedouble : otherwise;
}

static cJSON *read_memory(const char *path)
{
    char text[1024];
    FILE *file = fopen(path, "re");
    if (!file) {
        return NULL;
    }
    size_t size = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[size] = '\0';
    return cJSON_Parse(text);
}

bool memory_load(struct practice *p, uint32_t latency_ms)
{
    uint32_t id;
    if (getrandom(&id, sizeof id, 0) != sizeof id) {
        return false;
    }
    cJSON *memory = read_memory(p->board_path); /* none at the very first start */
    id = (uint32_t)number(memory, "board", id);
    uint32_t boot = (uint32_t)number(memory, "boot", 0) + 1;
    if (!machine_open(&p->machine, id, boot, latency_ms)) {
        cJSON_Delete(memory);
        return false;
    }
    struct model *model = &p->machine.model;
    model->rotor_steps = (int64_t)number(memory, "rotor_steps", 0);
    model->carriage_nm = number(memory, "carriage_nm", model->carriage_nm);
    model->bit_nm = number(memory, "bit_nm", model->bit_nm);
    model_mark(model);
    cJSON_Delete(memory);
    return memory_save(p);
}

bool memory_save(const struct practice *p)
{
    char path[sizeof p->board_path + 8];
    snprintf(path, sizeof path, "%s.new", p->board_path);
    FILE *file = fopen(path, "we");
    if (!file) {
        return false;
    }
    const struct board_view board = board_look(p->machine.board);
    const struct model *model = &p->machine.model;
    fprintf(file,
            "{\"board\":%" PRIu32 ",\"boot\":%" PRIu32 ",\"rotor_steps\":%" PRId64
            ",\"carriage_nm\":%.3f,\"bit_nm\":%.3f}\n",
            board.id, board.boot, model->rotor_steps, model->carriage_nm, model->bit_nm);
    bool done = fflush(file) == 0 && fsync(fileno(file)) == 0;
    done = fclose(file) == 0 && done;
    return done && rename(path, p->board_path) == 0;
}
