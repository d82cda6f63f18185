// SPDX-License-Identifier: GPL-3.0-or-later
/* Put between the program and its system by the linker (--wrap): what is asked of the disk is noted
 * in the file that DISK_LOG names, a line each, before the program goes on. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { NAME_BYTES = 4096 };

/* The names are the linker's. */
int __real_fsync(int file);
int __wrap_fsync(int file);
int __real_rename(const char *from, const char *to);
int __wrap_rename(const char *from, const char *to);

static void note(const char *what, const char *from, const char *to)
{
    char line[2 * NAME_BYTES + 16];
    const char *path = getenv("DISK_LOG");
    int log = path ? open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600) : -1;
    int n = snprintf(line, sizeof line, "%s %s %s\n", what, from, to);
    if (log < 0 || n < 0 || write(log, line, (size_t)n) != n)
        abort(); /* a test that sees nothing would pass */
    close(log);
}

int __wrap_fsync(int file)
{
    char link[64], name[NAME_BYTES];
    int result = __real_fsync(file);
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t n = readlink(link, name, sizeof name - 1);
    name[n < 0 ? 0 : n] = '\0';
    note("fsync", name, "");
    return result;
}

int __wrap_rename(const char *from, const char *to)
{
    int result = __real_rename(from, to);
    note("rename", from, to);
    return result;
}
