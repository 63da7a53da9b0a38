// Batches: what one transaction writes, merged in order.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "turn/batch.h"

static void put(struct turn_batch *batch, uint32_t site, const char *data) {
    struct json_out text = {0};
    json_out_raw(&text, data, strlen(data));
    assert_true(turn_batch_record(batch, &(struct turn_record){.site = site}, &text));
    json_out_free(&text);
}

static void remember(struct turn_batch *batch, const char *person, const char *id,
                     const char *answer) {
    struct turn_remembered entry = {.site = 1};
    struct json_out text = {0};
    strcpy(entry.person, person);
    strcpy(entry.id, id);
    json_out_raw(&text, answer, strlen(answer));
    assert_true(turn_batch_remember(batch, &entry, &text));
    json_out_free(&text);
}

static void assert_data(const struct turn_batch *batch, size_t at, const char *data) {
    const struct turn_record *record = &batch->records[at];
    assert_int_equal(record->length, strlen(data));
    assert_memory_equal(batch->text.data + record->data, data, strlen(data));
}

static void assert_answer(const struct turn_batch *batch, const char *id, const char *answer) {
    const struct turn_remembered *entry = turn_batch_find(batch, 1, "t-1", id);
    assert_non_null(entry);
    assert_int_equal(entry->length, strlen(answer));
    assert_memory_equal(batch->text.data + entry->answer, answer, strlen(answer));
}

static void merged_batches_keep_order_and_texts(void **state) {
    struct turn_batch one = {0}, other = {0};
    (void)state;
    put(&one, 0, "{\"a\":1}");
    remember(&one, "t-1", "r-1", "{\"first\":true}");
    put(&other, 1, "{\"b\":22}");
    put(&other, 2, "{}");
    remember(&other, "t-1", "r-2", "{\"second\":true}");
    assert_true(turn_batch_merge(&one, &other));
    assert_true(turn_batch_empty(&other));
    assert_int_equal(one.record_count, 3);
    assert_data(&one, 0, "{\"a\":1}");
    assert_data(&one, 1, "{\"b\":22}");
    assert_data(&one, 2, "{}");
    assert_int_equal(one.records[2].site, 2);
    assert_answer(&one, "r-1", "{\"first\":true}");
    assert_answer(&one, "r-2", "{\"second\":true}");
    turn_batch_free(&one);
    turn_batch_free(&other);
}

static void an_empty_one_takes_everything(void **state) {
    struct turn_batch one = {0}, other = {0};
    (void)state;
    assert_true(turn_batch_merge(&one, &other));
    assert_true(turn_batch_empty(&one));
    remember(&other, "t-1", "r-1", "{}");
    assert_false(turn_batch_empty(&other));
    assert_true(turn_batch_merge(&one, &other));
    assert_answer(&one, "r-1", "{}");
    assert_null(turn_batch_find(&one, 1, "t-2", "r-1"));
    assert_null(turn_batch_find(&one, 0, "t-1", "r-1"));
    assert_null(turn_batch_find(&one, 1, "t-1", "r-2"));
    turn_batch_clear(&one);
    assert_true(turn_batch_empty(&one));
    assert_null(turn_batch_find(&one, 1, "t-1", "r-1"));
    turn_batch_free(&one);
    turn_batch_free(&other);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(merged_batches_keep_order_and_texts),
        cmocka_unit_test(an_empty_one_takes_everything),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
