// Badges as they are listed.
#include "feed/badge.h"

#include "base/text.h"
#include "gate/text.h"
#include "json/json.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#define ELLIPSIS "\xE2\x80\xA6"
#define MARK_DIGITS 16
#define MARK_BYTES (sizeof ELLIPSIS - 1 + MARK_DIGITS)

static bool is_control(char c) {
    return (unsigned char)c < 0x20 || c == 0x7F;
}

// Whether a badge ends as one that was cut does.
static bool ends_in_mark(const char *badge, size_t length) {
    const char *mark = badge + length - MARK_BYTES;
    return length >= MARK_BYTES && strncmp(mark, ELLIPSIS, sizeof ELLIPSIS - 1) == 0 &&
           strspn(mark + sizeof ELLIPSIS - 1, "0123456789abcdef") == MARK_DIGITS;
}

static bool has_control(const char *badge) {
    while (*badge != '\0' && !is_control(*badge)) {
        badge++;
    }
    return *badge != '\0';
}

// Rule (3, Tags): Two badges that begin alike are listed apart. [badges-cut-alike]
static void cut(const char *badge, bool text, char listed[MODEL_ID_SIZE]) {
    char head[MODEL_ID_SIZE - MARK_BYTES];
    size_t used = 0;
    for (; badge[used] != '\0' && used < sizeof head - 1; used++) {
        bool odd = is_control(badge[used]) || (!text && (unsigned char)badge[used] >= 0x80);
        head[used] = odd ? '?' : badge[used];
    }
    head[used] = '\0';
    gate_text_whole(head, used);
    snprintf(listed, MODEL_ID_SIZE, "%s" ELLIPSIS "%016" PRIx64, head, gate_text_mark(badge));
}

// Rule (3, Tags): A badge is listed as read. [badge-respelled]
// Rule (3, Tags): A badge that reads like one that was cut is another's. [badge-like-one-cut]
// Rule (3, Tags): A badge that reads like what stands for none is another's.
// [badge-taken-for-none]
bool feed_badge_list(const char *badge, char listed[MODEL_ID_SIZE]) {
    size_t length = badge != NULL ? strlen(badge) : 0;
    bool text = badge != NULL && json_is_utf8(badge, length);
    if (badge == NULL || length == 0 || (text && base_text_blank(badge))) {
        gate_id_copy(listed, FEED_BADGE_UNREAD);
        return false;
    }
    bool as_read = text && length < MODEL_ID_SIZE && !has_control(badge) &&
                   !ends_in_mark(badge, length) && strcmp(badge, FEED_BADGE_UNREAD) != 0;
    if (as_read) {
        gate_id_copy(listed, badge);
    } else {
        cut(badge, text, listed);
    }
    return true;
}
