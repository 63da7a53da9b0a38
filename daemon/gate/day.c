// The day around a repair: its memory.
#include "gate/day.h"

#include <stdlib.h>

void gate_day_free(struct gate_day *day) {
    free(day->parts);
    free(day->fuel);
    free(day->shift.note);
    for (size_t i = 0; i < day->attachment_count; i++) {
        free(day->attachments[i].url);
        free(day->attachments[i].title);
    }
    free(day->attachments);
}
