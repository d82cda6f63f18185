// SPDX-License-Identifier: GPL-3.0-or-later
/* Files appear whole or not at all. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "strandline/figure.h"

static char folder[64];

static int make_folder(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/sl-write-XXXXXX");
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    DIR *dir = opendir(folder);
    if (!dir)
        return -1;
    for (struct dirent *entry; (entry = readdir(dir));)
        unlinkat(dirfd(dir), entry->d_name, 0);
    closedir(dir);
    return rmdir(folder);
}

static size_t files_in_folder(void)
{
    size_t count = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    for (struct dirent *entry; (entry = readdir(dir));)
        count += entry->d_name[0] != '.' || strlen(entry->d_name) > 2;
    closedir(dir);
    return count;
}

static void in_folder(const char *name, char *ret, size_t size)
{
    snprintf(ret, size, "%s/%s", folder, name);
}

static size_t read_back(const char *path, char *ret, size_t size)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t n = fread(ret, 1, size, file);
    fclose(file);
    return n;
}

static void writes_and_replaces(void **state)
{
    (void)state;
    char path[128], text[16];
    in_folder("one.svg", path, sizeof path);
    assert_int_equal(sl_write_file(path, "first", 5, NULL), SL_OK);
    assert_int_equal(read_back(path, text, sizeof text), 5);
    assert_memory_equal(text, "first", 5);
    assert_int_equal(sl_write_file(path, "2nd", 3, NULL), SL_OK);
    assert_int_equal(read_back(path, text, sizeof text), 3);
    assert_memory_equal(text, "2nd", 3);
    assert_int_equal(files_in_folder(), 1);
}

static void replaced_file_keeps_its_mode(void **state)
{
    (void)state;
    char path[128];
    struct stat info;
    in_folder("mode", path, sizeof path);
    assert_int_equal(sl_write_file(path, "a", 1, NULL), SL_OK);
    assert_int_equal(chmod(path, 0640), 0);
    assert_int_equal(sl_write_file(path, "b", 1, NULL), SL_OK);
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(info.st_mode & 0777, 0640);
}

static void link_stays_a_link(void **state)
{
    (void)state;
    char path[128], link_path[128], text[8];
    struct stat info;
    in_folder("behind", path, sizeof path);
    in_folder("link", link_path, sizeof link_path);
    assert_int_equal(sl_write_file(path, "a", 1, NULL), SL_OK);
    assert_int_equal(symlink(path, link_path), 0);
    assert_int_equal(sl_write_file(link_path, "new", 3, NULL), SL_OK);
    assert_int_equal(lstat(link_path, &info), 0);
    assert_true(S_ISLNK(info.st_mode));
    assert_int_equal(read_back(path, text, sizeof text), 3);
}

static void missing_folder_is_said(void **state)
{
    (void)state;
    char path[128];
    struct sl_status status = {0};
    in_folder("nowhere/one.png", path, sizeof path);
    assert_int_equal(sl_write_file(path, "a", 1, &status), SL_E_WRITE);
    assert_non_null(strstr(status.message, path));
    assert_non_null(strstr(status.message, "folder does not exist"));
    assert_true(strlen(status.remedy) > 0);
    assert_int_equal(files_in_folder(), 0);
}

static void folder_is_no_file(void **state)
{
    (void)state;
    struct sl_status status = {0};
    assert_int_equal(sl_write_file(folder, "a", 1, &status), SL_E_WRITE);
    assert_non_null(strstr(status.message, "a folder has this name"));
    assert_int_equal(files_in_folder(), 0);
}

static void unwritable_folder_leaves_nothing(void **state)
{
    (void)state;
    char path[128];
    struct sl_status status = {0};
    if (geteuid() == 0) { /* root may write anywhere but where the kernel says no */
        assert_int_equal(sl_write_file("/proc/one.png", "a", 1, &status), SL_E_WRITE);
        assert_non_null(strstr(status.message, "/proc/one.png"));
        return;
    }
    in_folder("one.png", path, sizeof path);
    assert_int_equal(chmod(folder, 0500), 0);
    sl_code code = sl_write_file(path, "a", 1, &status);
    assert_int_equal(chmod(folder, 0700), 0);
    assert_int_equal(code, SL_E_WRITE);
    assert_non_null(strstr(status.message, "may not be written to"));
    assert_int_equal(files_in_folder(), 0);
}

/* The limit of a file's size stops a write half-way, as a full disk does. */
static void full_disk_leaves_the_old_file(void **state)
{
    (void)state;
    char path[128], text[8];
    char *big = calloc(1, 100000);
    struct sl_status status = {0};
    struct rlimit old, small;
    assert_non_null(big);
    in_folder("kept", path, sizeof path);
    assert_int_equal(sl_write_file(path, "old", 3, NULL), SL_OK);
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
    small = old;
    small.rlim_cur = 4096;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    sl_code code = sl_write_file(path, big, 100000, &status);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
    free(big);
    assert_int_equal(code, SL_E_WRITE);
    assert_true(strlen(status.remedy) > 0);
    assert_int_equal(files_in_folder(), 1);
    assert_int_equal(read_back(path, text, sizeof text), 3);
    assert_memory_equal(text, "old", 3);
}

static void full_device_is_said(void **state)
{
    (void)state;
    struct sl_status status = {0};
    if (access("/dev/full", W_OK) != 0)
        return; /* a device of Linux */
    assert_int_equal(sl_write_file("/dev/full", "a", 1, &status), SL_E_WRITE);
    assert_non_null(strstr(status.message, "disk is full"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(writes_and_replaces, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(replaced_file_keeps_its_mode, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(link_stays_a_link, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(missing_folder_is_said, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(folder_is_no_file, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(unwritable_folder_leaves_nothing, make_folder,
                                        remove_folder),
        cmocka_unit_test_setup_teardown(full_disk_leaves_the_old_file, make_folder, remove_folder),
        cmocka_unit_test(full_device_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
