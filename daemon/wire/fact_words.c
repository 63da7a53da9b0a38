// Reading the words of facts.
#include "wire/fact_words.h"

int wire_fact_word_read(const struct gate_spelling *words, const struct json_tape *tape,
                        const struct json_node *node) {
    for (int i = 0; node != NULL && i < words->count; i++) {
        const char *name = words->name(i);
        bool same = name != NULL ? wire_fact_spells(tape, node, name, strlen(name))
                                 : node->kind == JSON_NULL;
        if (same) {
            return i;
        }
    }
    return -1;
}
