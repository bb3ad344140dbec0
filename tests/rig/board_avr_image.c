/* SPDX-License-Identifier: MIT */
#include <fcntl.h>
#include <gelf.h>
#include <libelf.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/rig/board_avr_parts.h"

/* Where avr-gcc's linker puts the other memories. */
enum { RAM_OFFSET = 0x800000, FLASH_SIZE = 0x8000 };

static bool load(struct image *image, Elf *elf)
{
    size_t headers;
    if (elf_getphdrnum(elf, &headers) != 0) {
        return false;
    }
    for (size_t i = 0; i < headers; i++) {
        GElf_Phdr header;
        if (!gelf_getphdr(elf, (int)i, &header)) {
            return false;
        }
        if (header.p_type != PT_LOAD || header.p_filesz == 0 || header.p_paddr >= RAM_OFFSET) {
            continue;
        }
        Elf_Data *data = elf_getdata_rawchunk(elf, (int64_t)header.p_offset,
                                              (size_t)header.p_filesz, ELF_T_BYTE);
        uint64_t end = header.p_paddr + header.p_filesz;
        if (!data || end > FLASH_SIZE) {
            return false;
        }
        memcpy(image->flash + header.p_paddr, data->d_buf, (size_t)header.p_filesz);
        image->flash_size = end > image->flash_size ? (uint32_t)end : image->flash_size;
    }
    return image->flash_size > 0;
}

static bool take_symbol(struct image *image, Elf *elf, const GElf_Shdr *table, const GElf_Sym *s)
{
    const char *name = elf_strptr(elf, table->sh_link, s->st_name);
    struct image_symbol *at = &image->symbol[image->symbols];
    if (!name || name[0] == '\0') {
        return true;
    }
    at->name = strdup(name);
    at->address = (uint32_t)s->st_value;
    if (at->address >= RAM_OFFSET) {
        at->address -= RAM_OFFSET;
    }
    at->size = (uint32_t)s->st_size;
    if (at->name && strcmp(name, "_end") == 0) {
        image->ram_used = at->address - AT_RAM;
    }
    image->symbols += at->name != NULL;
    return at->name != NULL;
}

static bool read_symbols(struct image *image, Elf *elf)
{
    Elf_Scn *section = NULL;
    while ((section = elf_nextscn(elf, section)) != NULL) {
        GElf_Shdr header;
        if (!gelf_getshdr(section, &header) || header.sh_type != SHT_SYMTAB) {
            continue;
        }
        Elf_Data *data = elf_getdata(section, NULL);
        size_t count = (size_t)(header.sh_size / header.sh_entsize);
        image->symbol = calloc(count, sizeof *image->symbol);
        if (!data || !image->symbol) {
            return false;
        }
        for (size_t i = 0; i < count; i++) {
            GElf_Sym symbol;
            if (!gelf_getsym(data, (int)i, &symbol) || !take_symbol(image, elf, &header, &symbol)) {
                return false;
            }
        }
        return true;
    }
    return false;
}

bool image_read(struct image *image, const char *path)
{
    *image = (struct image){.flash = malloc(FLASH_SIZE)};
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    elf_version(EV_CURRENT);
    Elf *elf = fd >= 0 && image->flash ? elf_begin(fd, ELF_C_READ, NULL) : NULL;
    bool done = false;
    if (elf) {
        memset(image->flash, 0xff, FLASH_SIZE);
        done = load(image, elf) && read_symbols(image, elf);
        elf_end(elf);
    }
    if (fd >= 0) {
        close(fd);
    }
    if (!done) {
        image_free(image);
    }
    return done;
}

void image_free(struct image *image)
{
    for (size_t i = 0; i < image->symbols; i++) {
        free(image->symbol[i].name);
    }
    free(image->symbol);
    free(image->flash);
    *image = (struct image){.flash = NULL};
}

bool board_avr_symbol(const struct board *b, const char *name, uint32_t *address, uint32_t *size)
{
    for (size_t i = 0; i < b->image.symbols; i++) {
        const struct image_symbol *s = &b->image.symbol[i];
        if (strcmp(s->name, name) == 0) {
            *address = s->address;
            *size = s->size;
            return true;
        }
    }
    return false;
}

uint32_t board_avr_flash_used(const struct board *b)
{
    return b->image.flash_size;
}

uint32_t board_avr_ram_used(const struct board *b)
{
    return b->image.ram_used;
}
