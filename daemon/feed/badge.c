// Badges that are nobody's, as ids.
#include "feed/badge.h"

#include "base/hex.h"
#include "model/model.h"

#include <string.h>

static bool is_id_char(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' ||
           c == '_' || c == '-';
}

bool feed_badge_as_id(const struct model *model, const char *badge, char who[MODEL_ID_SIZE]) {
    char id[MODEL_ID_SIZE + 16] = "badge-";
    size_t used = strlen(id);
    for (const char *c = badge; *c != '\0' && used < MODEL_ID_SIZE + 8; c++) {
        if (is_id_char(*c)) {
            id[used++] = *c;
            id[used] = '\0';
        } else {
            id[used] = '_';
            base_hex_encode(c, 1, id + used + 1);
            used += 3;
        }
    }
    const char *plain = id + strlen("badge-");
    bool free = model_id_valid(plain, strlen(plain)) && model_person_find(model, plain) == NULL;
    const char *use = free ? plain : id;
    bool fits = strlen(use) < MODEL_ID_SIZE;
    if (fits) {
        memcpy(who, use, strlen(use) + 1);
    }
    return fits;
}
