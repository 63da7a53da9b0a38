// What a point is: from its sensors' hearing, or from people's statements.
#include "gate/point.h"

#include <string.h>

#include "gate/distrust.h"
#include "gate/find.h"
#include "gate/text.h"
#include "gate/word.h"

static void lower(int64_t *next, int64_t when) {
    if (when < *next) {
        *next = when;
    }
}

// What the sensors of one point say together.
struct sensor_summary {
    bool bad, silent, stale, isolated;
    bool live, kept;        // live by a word that came by itself; by what the broker kept
    int64_t oldest;         // mono ms of the oldest reading
    int64_t isolated_since; // mono ms since which all have said isolated
};

// Rule (3, table of trust): A point is stale when it is unheard for longer than its max_age_s, not
// before. [age-a-moment-early]
// Rule (3, table of trust): A point unheard for longer than its max_age_s is unknown. [age-ignored]
// Rule (5, Breaking): The moment at which a point grows stale is waited for. [age-not-due]
// Rule (3, Hearing): A point has settled when the last of its sensors has. [settle-first-sensor]
static void listen(const struct gate_sensor *sensor, const struct model_point *point,
                   struct gate_time now, struct sensor_summary *summary, int64_t *next) {
    if (sensor->heard == 0) {
        summary->silent = true;
        summary->oldest = 0;
    } else if (sensor->heard < summary->oldest) {
        summary->oldest = sensor->heard;
    }
    if (sensor->bad) {
        summary->bad = true;
    } else if (sensor->heard != 0 && now.mono - sensor->heard > point->max_age_ms) {
        summary->stale = true;
    } else if (sensor->heard != 0) {
        lower(next, sensor->heard + point->max_age_ms + 1);
        summary->live |= sensor->state == MODEL_POINT_LIVE && !sensor->kept;
        summary->kept |= sensor->kept;
        summary->isolated |= sensor->state == MODEL_POINT_ISOLATED;
        if (sensor->isolated_since > summary->isolated_since) {
            summary->isolated_since = sensor->isolated_since;
        }
    }
}

// Rule (3, table of trust): Sensors that disagree are not trusted as live. [disagreement-trusted]
// Rule (3, table of trust; R20): Live is kept where all that there is came from the broker's store.
// [kept-live-proves]
static enum model_trust live_trust(const struct sensor_summary *summary) {
    if (!summary->live && !summary->isolated) {
        return MODEL_TRUST_KEPT;
    }
    bool all = !summary->isolated && !summary->kept && !summary->bad && !summary->silent &&
               !summary->stale;
    return all ? MODEL_TRUST_FRESH : MODEL_TRUST_DISAGREES;
}

// Rule (3, A sensor out of order; R27): A sensor out of order counts for nothing.
// [distrusted-counts]
// Rule (3, Hearing): A point whose controller is offline, or was never heard, is unknown.
// [offline-unheeded]
// Rule (3, table of trust): One of several sensors that says live makes the point live.
// [one-live-outvoted]
// Rule (3, table of trust): One bad sensor makes an otherwise isolated point unknown.
// [bad-outvoted]
// Rule (3, table of trust): One silent sensor makes an otherwise isolated point unknown.
// [silent-outvoted]
// Rule (3, Hearing): A point is as old as its oldest sensor. [stale-outvoted]
// Rule (3, Hearing): Isolated is settled only once held for settle_s. [settle-ignored]
static struct gate_view from_sensors(const struct gate *gate, const struct gate_site *site,
                                     uint32_t index, struct gate_time now, int64_t *next) {
    const struct model_point *point = &site->model->points[index];
    struct sensor_summary summary = {.oldest = INT64_MAX};
    (void)gate;
    for (size_t i = 0; i < point->sensor_count; i++) {
        if (!gate_is_distrusted(site, index, point->sensors[i])) {
            listen(&site->sensors[point->sensors[i]], point, now, &summary, next);
        }
    }
    struct gate_view view = {.state = MODEL_POINT_UNKNOWN};
    view.heard = summary.oldest == 0 ? 0 : now.wall - (now.mono - summary.oldest);
    if (point->controller != MODEL_NONE &&
        site->controllers[point->controller] != GATE_CONTROLLER_ONLINE) {
        view.trust = MODEL_TRUST_CONTROLLER_OFFLINE;
    } else if (summary.live || summary.kept) {
        view.state = MODEL_POINT_LIVE;
        view.trust = live_trust(&summary);
    } else if (summary.bad) {
        view.trust = MODEL_TRUST_BAD_QUALITY;
    } else if (summary.silent) {
        view.trust = MODEL_TRUST_SILENT;
    } else if (summary.stale || !summary.isolated) {
        view.trust = MODEL_TRUST_STALE;
    } else {
        bool settled = now.mono - summary.isolated_since >= point->settle_ms;
        view.state = MODEL_POINT_ISOLATED;
        view.trust = settled ? MODEL_TRUST_FRESH : MODEL_TRUST_SETTLING;
        if (!settled) {
            lower(next, summary.isolated_since + point->settle_ms);
        }
    }
    return view;
}

struct gate_view gate_point_derive(const struct gate *gate, const struct gate_site *site,
                                   uint32_t point, struct gate_time now, int64_t *next) {
    return gate_point_for_job(gate, site, NULL, point, now, next);
}

struct gate_view gate_point_for_job(const struct gate *gate, const struct gate_site *site,
                                    const struct gate_job *job, uint32_t point,
                                    struct gate_time now, int64_t *next) {
    return gate_speech_of(site, point).spoken ? gate_words_view(site, point, job, now, next)
                                              : from_sensors(gate, site, point, now, next);
}

// Rule (5, Lockout): A point that is settling is not yet proved isolated. [settling-is-settled]
bool gate_view_isolated(const struct gate_view *view) {
    return view->state == MODEL_POINT_ISOLATED &&
           (view->trust == MODEL_TRUST_FRESH || view->trust == MODEL_TRUST_WITNESSED);
}

// Rule (5, Return): A point is restored when it is live on all its sensors. [disagreeing-is-live]
bool gate_view_live(const struct gate_view *view) {
    return view->state == MODEL_POINT_LIVE &&
           (view->trust == MODEL_TRUST_FRESH || view->trust == MODEL_TRUST_WITNESSED);
}

// Rule (4, codes): A refusal for a stale point says point-stale. [code-stale-swapped]
// Rule (4, codes): A refusal for sensors that disagree says point-disagrees.
// [code-disagrees-swapped]
// Rule (4, codes): A refusal for a controller that is offline says controller-offline.
// [code-offline-swapped]
// Rule (4, codes): A refusal for a point that settles says point-settling. [code-settling-swapped]
enum model_code gate_view_code(const struct gate_view *view) {
    if (view->state == MODEL_POINT_LIVE) {
        return view->trust == MODEL_TRUST_DISAGREES ? MODEL_CODE_POINT_DISAGREES
                                                    : MODEL_CODE_POINT_LIVE;
    }
    switch (view->trust) {
    case MODEL_TRUST_CONTROLLER_OFFLINE:
        return MODEL_CODE_CONTROLLER_OFFLINE;
    case MODEL_TRUST_STALE:
        return MODEL_CODE_POINT_STALE;
    case MODEL_TRUST_SETTLING:
        return MODEL_CODE_POINT_SETTLING;
    default:
        return MODEL_CODE_POINT_UNKNOWN;
    }
}

bool gate_point_proved_live(const struct gate *gate, const struct gate_site *site, uint32_t point,
                            const struct gate_job *job, struct gate_time now) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_derive(gate, site, point, now, &next);
    if (!gate_view_live(&view)) {
        return false;
    }
    const struct gate_speech speech = gate_speech_of(site, point);
    return !speech.spoken || gate_words_proving(site, point, job, now) >= speech.provers;
}

int64_t gate_point_heard(const struct gate *gate, const struct gate_site *site, uint32_t point,
                         struct gate_time now) {
    int64_t next = INT64_MAX;
    return gate_point_derive(gate, site, point, now, &next).heard;
}
