/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/reglet/shelf.h"
#include "clients/reglet/shop.h"

/* Takes one list into the document, each item as `keep` takes it. */
static enum client_exit add_list(struct run *run, const struct shop_items *items, cJSON *document)
{
    cJSON *array;
    const cJSON *item;
    enum client_exit code = shop_all(run, items, &array);
    if (code != CLIENT_DONE) {
        return code;
    }
    cJSON *list = cJSON_AddArrayToObject(document, items->list);
    bool whole = list != NULL;
    cJSON_ArrayForEach(item, array)
    {
        cJSON *plain = whole ? shop_items_plain(items, item) : NULL;
        whole = plain && cJSON_AddItemToArray(list, plain);
    }
    cJSON_Delete(array);
    return whole ? CLIENT_DONE : run_trouble(run, CLIENT_NO_MEMORY);
}

/* A file that is there already is left alone. */
static enum client_exit write_file(const char *path, const char *text)
{
    char sentence[400];
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    FILE *file = fd >= 0 ? fdopen(fd, "w") : NULL;
    bool written = file && fprintf(file, "%s\n", text) > 0 && fflush(file) == 0 && fsync(fd) == 0;
    int error = errno;
    if (file && fclose(file) != 0) {
        written = false;
    } else if (fd >= 0 && !file) {
        (void)close(fd);
    }
    if (written) {
        return CLIENT_DONE;
    }
    (void)snprintf(sentence, sizeof sentence, "%.200s could not be written: %s. %s", path,
                   strerror(error),
                   error == EEXIST ? "It is left as it was; name another file."
                                   : "What is in it now is not to be used.");
    run_say(sentence);
    return CLIENT_REFUSED;
}

static enum client_exit put(struct run *run, const cJSON *document)
{
    char *text = cJSON_Print(document);
    enum client_exit code = CLIENT_DONE;
    if (!text) {
        return run_trouble(run, CLIENT_NO_MEMORY);
    }
    if (run->count == 0) {
        (void)printf("%s\n", text);
    } else {
        code = write_file(run->word[0], text);
    }
    if (code == CLIENT_DONE && run->count > 0) {
        (void)printf("The shop's lists are in %s. 'import' brings them to a lift.\n", run->word[0]);
    }
    cJSON_free(text);
    return code;
}

static enum client_exit carry_out(struct run *run)
{
    if (run->count > 1) {
        return run_usage(run, "export wants one file at the most");
    }
    enum client_exit code = run_connect(run);
    cJSON *document = cJSON_CreateObject();
    (void)cJSON_AddNumberToObject(document, "reglet_shop", SHOP_ITEMS_VERSION);
    for (int i = 0; i < SHOP_LISTS && code == CLIENT_DONE; i++) {
        code = add_list(run, &shop_items[i], document);
    }
    if (code == CLIENT_DONE) {
        code = shelf_add_all(run, document);
    }
    if (code == CLIENT_DONE) {
        code = put(run, document);
    }
    cJSON_Delete(document);
    return code;
}

const struct command command_export = {
    "export",
    "[FILE]",
    "write the shop's lists into a file",
    "Rings, bits, stock, pairs, presets with their cards, and stories. Without FILE it is printed. "
    "A file that is there already is left alone.",
    carry_out,
    NULL};
