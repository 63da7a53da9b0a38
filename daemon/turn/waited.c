// Whether what was asked has waited on its way: in the broker, in the client, or with us.
#include "turn/internal.h"

// By its own clock a request may be this old, and stand this far ahead of ours.
#define ASKED_AGE_MS 30000
#define ASKED_AHEAD_MS 5000

// Rule (4, Only the present is permitted; R11): A request asked over 30 s ago waited.
// [asked-long-ago]
// Rule (4, Only the present is permitted; R11): One dated more than 5 s ahead says nothing of now.
// [asked-ahead]
static bool is_asked_another_time(const struct gate_request *request, struct gate_time now) {
    return request->has_asked &&
           (now.wall - request->asked > ASKED_AGE_MS || request->asked - now.wall > ASKED_AHEAD_MS);
}

// It is judged when it is decided, which may be long after it came: while a commit was pending it
// waited with us.
// Rule (4, Only the present is permitted; R11): A request whose expiry ran out waited.
// [expired-is-now]
// Rule (4, Only the present is permitted; R11): A request whose client hung up before it was
// decided waited. [hung-up-is-now]
bool turn_waited(const struct turn *turn, const struct wire_request_in *in,
                 const struct gate_request *request) {
    struct gate_time now = turn_now(turn);
    return in->waited || (in->expires && now.mono >= in->until) ||
           is_asked_another_time(request, now) ||
           (in->ticket != 0 && turn->world->gave_up(turn->user, in->ticket));
}
