// Reading what was scanned: members, elements, texts, equality.
#include "given.h"

#include <stdio.h>

static void members_are_found_by_unescaped_name(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "{\"a\":1,\"\\u0062\\n\":{\"a\":2},\"c\":null,\"\\u0000\":4,\"\":5}");
    const struct json_node *root = json_root(&tape);

    assert_int_equal(json_member(&tape, root, "a")->kind, JSON_NUMBER);
    assert_int_equal(json_member(&tape, root, "b\n")->kind, JSON_OBJECT);
    assert_int_equal(json_member(&tape, root, "c")->kind, JSON_NULL);
    assert_null(json_present(&tape, root, "c"));
    assert_non_null(json_present(&tape, root, "a"));
    assert_null(json_present(&tape, root, "d"));
    assert_null(json_member(&tape, root, "b"));
    assert_null(json_member(&tape, root, "\\u0062\\n"));
    assert_ptr_equal(json_member(&tape, root, ""), root + root->next - 1);
    done(&tape, text);
}

static void what_is_no_object_has_no_members(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "[\"a\",1]");

    assert_null(json_member(&tape, json_root(&tape), "a"));
    assert_null(json_present(&tape, NULL, "a"));
    assert_null(json_member(&tape, json_first(&tape, json_root(&tape)), "a"));
    done(&tape, text);
}

static void children_come_in_their_order(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "[[1,[2]],{\"k\":[3],\"l\":4},[]]");
    const struct json_node *root = json_root(&tape);
    const struct json_node *first = json_first(&tape, root);
    const struct json_node *object = json_next(&tape, root, first);
    const struct json_node *empty = json_next(&tape, root, object);
    const struct json_node *key = json_first(&tape, object);
    const struct json_node *value = json_next(&tape, object, key);

    assert_int_equal(first->count, 2);
    assert_true(json_equals(&tape, key, "k"));
    assert_int_equal(value->kind, JSON_ARRAY);
    assert_true(json_equals(&tape, json_next(&tape, object, value), "l"));
    assert_null(
        json_next(&tape, object, json_next(&tape, object, json_next(&tape, object, value))));
    assert_null(json_first(&tape, empty));
    assert_null(json_next(&tape, root, empty));
    assert_null(json_first(&tape, json_first(&tape, first)));
    assert_null(json_first(&tape, NULL));
    assert_null(json_next(&tape, root, NULL));
    assert_null(json_next(&tape, NULL, root));
    done(&tape, text);
}

static void texts_are_copied_unescaped(void **state) {
    (void)state;
    static const struct {
        const char *text;
        const char *copy;
    } rows[] = {
        {"\"\"", ""},
        {"\"plain\"", "plain"},
        {"\"\\\"\\\\\\/\\b\\f\\n\\r\\t\"", "\"\\/\b\f\n\r\t"},
        {"\"\\u0041\\u00e9\\u20AC\\uD83D\\uDE00\"", "A\xc3\xa9\xe2\x82\xac\xf0\x9f\x98\x80"},
        {"\"\\udbff\\udfff\\uffff\\ud7ff\"", "\xf4\x8f\xbf\xbf\xef\xbf\xbf\xed\x9f\xbf"},
        {"\"\xc3\xa9\\n\"", "\xc3\xa9\n"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_tape tape = {0};
        char *text = given(&tape, rows[i].text);
        size_t length = strlen(rows[i].copy);
        char buffer[32];
        assert_true(json_copy(&tape, json_root(&tape), buffer, sizeof buffer));
        assert_string_equal(buffer, rows[i].copy);
        assert_int_equal(json_text_length(&tape, json_root(&tape)), length);
        assert_true(json_equals(&tape, json_root(&tape), rows[i].copy));
        assert_true(json_copy(&tape, json_root(&tape), buffer, length + 1));
        assert_false(json_copy(&tape, json_root(&tape), buffer, length));
        done(&tape, text);
    }
}

static void a_copy_is_whole_or_empty(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "[\"ab\\u0000c\",\"long\",12]");
    const struct json_node *zero = json_first(&tape, json_root(&tape));
    char buffer[4] = "xxx";

    assert_false(json_copy(&tape, zero, buffer, sizeof buffer));
    assert_string_equal(buffer, "");
    assert_int_equal(json_text_length(&tape, zero), 4);
    assert_false(json_equals(&tape, zero, "ab"));
    memcpy(buffer, "xxx", 4);
    assert_false(json_copy(&tape, zero + 1, buffer, sizeof buffer));
    assert_string_equal(buffer, "");
    assert_false(json_copy(&tape, zero + 2, buffer, sizeof buffer));
    assert_false(json_copy(&tape, NULL, buffer, sizeof buffer));
    assert_false(json_copy(&tape, zero + 1, buffer, 0));
    assert_int_equal(json_text_length(&tape, zero + 2), 0);
    assert_int_equal(json_text_length(&tape, NULL), 0);
    done(&tape, text);
}

static void a_text_equals_only_itself(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "[\"ab\",\"a\\u0062\",1]");
    const struct json_node *plain = json_first(&tape, json_root(&tape));

    for (const struct json_node *node = plain; node < plain + 2; node++) {
        assert_true(json_equals(&tape, node, "ab"));
        assert_false(json_equals(&tape, node, "a"));
        assert_false(json_equals(&tape, node, "abc"));
        assert_false(json_equals(&tape, node, "aB"));
        assert_false(json_equals(&tape, node, ""));
    }
    assert_false(json_equals(&tape, plain + 2, "1"));
    assert_false(json_equals(&tape, NULL, ""));
    done(&tape, text);
}

static bool same(const char *left, const char *right) {
    struct json_tape a = {0};
    struct json_tape b = {0};
    char *x = given(&a, left);
    char *y = given(&b, right);
    bool result = json_same(&a, json_root(&a), &b, json_root(&b));

    assert_int_equal(result, json_same(&b, json_root(&b), &a, json_root(&a)));
    done(&a, x);
    done(&b, y);
    return result;
}

static void equal_as_json(void **state) {
    (void)state;
    assert_true(
        same("{\"a\":1,\"b\":[true,null]}", " { \"b\" : [ true , null ] , \"\\u0061\":1.0}"));
    assert_true(same("[1,10,-0,100,0.5]", "[1.0,1e1,0,1E+2,5e-1]"));
    assert_true(same("[1200e-2,0.00012]", "[12,1.2e-4]"));
    assert_true(same("\"\\u00e9\\/\"", "\"\xc3\xa9/\""));
    assert_true(same("{}", "{}"));
    assert_true(same("0", "-0.000e17"));
    assert_true(json_same(NULL, NULL, NULL, NULL));
}

static void different_as_json(void **state) {
    (void)state;
    assert_false(same("0", "false"));
    assert_false(same("null", "false"));
    assert_false(same("1", "\"1\""));
    assert_false(same("1", "-1"));
    assert_false(same("[1,2]", "[2,1]"));
    assert_false(same("[1]", "[1,1]"));
    assert_false(same("[]", "{}"));
    assert_false(same("[[1],2]", "[[1,2]]"));
    assert_false(same("{\"a\":1}", "{\"a\":2}"));
    assert_false(same("{\"a\":1}", "{\"b\":1}"));
    assert_false(same("{\"a\":1}", "{\"a\":1,\"b\":1}"));
    assert_false(same("\"a\"", "\"a\\u0000\""));
    assert_false(same("[1e5]", "[1e6]"));
    assert_false(same("12.5", "125"));
    // A double takes these for the same.
    assert_false(same("9007199254740993", "9007199254740992"));
    struct json_tape tape = {0};
    char *text = given(&tape, "1");
    assert_false(json_same(&tape, json_root(&tape), &tape, NULL));
    done(&tape, text);
}

// {"k0":0,…}, forwards or backwards, with one value changed or none.
static void many_members(char *text, size_t size, int count, bool backwards, int changed) {
    size_t length = 0;

    for (int i = 0; i < count; i++) {
        int k = backwards ? count - 1 - i : i;
        length += (size_t)snprintf(text + length, size - length, "%c\"k%d\":%d", i == 0 ? '{' : ',',
                                   k, k == changed ? -1 : k);
    }
    snprintf(text + length, size - length, "}");
}

static void many_members_are_equal_in_any_order(void **state) {
    (void)state;
    static char left[4096];
    static char right[4096];

    for (int count = 31; count <= 100; count += 23) {
        many_members(left, sizeof left, count, false, -1);
        many_members(right, sizeof right, count, true, -1);
        assert_true(same(left, right));
        many_members(right, sizeof right, count, true, count / 2);
        assert_false(same(left, right));
        many_members(right, sizeof right, count, false, -1);
        *strstr(right, "k7") = 'K';
        assert_false(same(left, right));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(members_are_found_by_unescaped_name),
        cmocka_unit_test(what_is_no_object_has_no_members),
        cmocka_unit_test(children_come_in_their_order),
        cmocka_unit_test(texts_are_copied_unescaped),
        cmocka_unit_test(a_copy_is_whole_or_empty),
        cmocka_unit_test(a_text_equals_only_itself),
        cmocka_unit_test(equal_as_json),
        cmocka_unit_test(different_as_json),
        cmocka_unit_test(many_members_are_equal_in_any_order),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
