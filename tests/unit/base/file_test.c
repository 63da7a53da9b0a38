// Small files: whole, with a limit, and with a reason where they cannot be read.
#include "base/file.h"

#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

void *__real_malloc(size_t size);
void *__wrap_malloc(size_t size);
ssize_t __real_read(int descriptor, void *buffer, size_t size);
ssize_t __wrap_read(int descriptor, void *buffer, size_t size);

static bool short_of_memory;
static enum { READ_WHOLE, READ_IN_BITS, READ_FAILS } reading;
static bool interrupted;

void *__wrap_malloc(size_t size) {
    if (short_of_memory) {
        errno = ENOMEM;
        return NULL;
    }
    return __real_malloc(size);
}

ssize_t __wrap_read(int descriptor, void *buffer, size_t size) {
    if (reading == READ_FAILS) {
        errno = EIO;
        return -1;
    }
    if (reading == READ_IN_BITS) {
        interrupted = !interrupted;
        if (interrupted) {
            errno = EINTR;
            return -1;
        }
        size = size > 3 ? 3 : size;
    }
    return __real_read(descriptor, buffer, size);
}

static char folder[] = "/tmp/forelock-file-XXXXXX";
static char path[sizeof folder + 16];

static int begin(void **state) {
    (void)state;
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    snprintf(path, sizeof path, "%s/small", folder);
    return 0;
}

static int end(void **state) {
    (void)state;
    unlink(path);
    return rmdir(folder);
}

static void write_file(const char *bytes, size_t length) {
    FILE *file = fopen(path, "we");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

static void expect_whole(const char *bytes, size_t length, size_t max) {
    size_t got = 99;
    const char *why = "untouched";
    write_file(bytes, length);
    char *text = base_file_read(path, max, &got, &why);
    assert_non_null(text);
    assert_int_equal(got, length);
    assert_memory_equal(text, bytes, length);
    assert_int_equal(text[length], '\0');
    free(text);
}

static void expect_refused(const char *name, size_t max, const char *reason) {
    size_t length = 99;
    const char *why = NULL;
    assert_null(base_file_read(name, max, &length, &why));
    assert_string_equal(why, reason);
    assert_int_equal(length, 99);
}

static void test_whole_files(void **state) {
    (void)state;
    expect_whole("", 0, 10);
    expect_whole("a\0b\n", 4, 10);
    expect_whole("0123456789", 10, 10); // the limit itself is allowed
    const char *why;
    char *text = base_file_read(path, 10, NULL, &why);
    assert_string_equal(text, "0123456789");
    free(text);
}

static void test_in_bits_and_interrupted(void **state) {
    (void)state;
    reading = READ_IN_BITS;
    expect_whole("0123456789", 10, 10);
    reading = READ_WHOLE;
}

static void test_refusals_say_why(void **state) {
    (void)state;
    write_file("0123456789x", 11);
    expect_refused(path, 10, "it is too large");
    expect_refused(folder, 10, "it is not a regular file");
    unlink(path);
    expect_refused(path, 10, strerror(ENOENT));
    assert_int_equal(mkfifo(path, 0600), 0);
    expect_refused(path, 10, "it is not a regular file"); // at once: nobody writes to it
    unlink(path);
}

static void test_failures_say_why(void **state) {
    (void)state;
    write_file("secret", 6);
    reading = READ_FAILS;
    expect_refused(path, 10, strerror(EIO));
    reading = READ_WHOLE;
    short_of_memory = true;
    const char *why = NULL;
    char *text = base_file_read(path, 10, NULL, &why);
    short_of_memory = false;
    assert_null(text);
    assert_string_equal(why, strerror(ENOMEM));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_whole_files),
        cmocka_unit_test(test_in_bits_and_interrupted),
        cmocka_unit_test(test_refusals_say_why),
        cmocka_unit_test(test_failures_say_why),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
