// The sentences that an alarm can say, one row each: its name in C, its name outside (`args.say`)
// and its words, as those of refusals (says.h) are. A page in another language has a sentence of
// its own under the name, so a name is never given to something else.
#pragma once

#define GATE_ALARM_SAYS(SAY)                                                                       \
    /* What broke a lockout. */                                                                    \
    SAY(ALARM_LIVE, "alarm.point-live", "{title} reads LIVE. Stop, hands out, keep clear.")        \
    SAY(ALARM_DISAGREES, "alarm.point-disagrees",                                                  \
        "{title} has sensors that disagree. Stop, hands out, keep clear.")                         \
    SAY(ALARM_CHECK_FAILED, "alarm.check-failed",                                                  \
        "{title}: this check failed. Stop, hands out, keep clear.")                                \
    SAY(ALARM_STALE, "alarm.point-stale",                                                          \
        "{title} is no longer heard. Stop, hands out, keep clear.")                                \
    SAY(ALARM_OFFLINE, "alarm.controller-offline",                                                 \
        "{title} has lost its controller. Stop, hands out, keep clear.")                           \
    SAY(ALARM_UNKNOWN, "alarm.point-unknown",                                                      \
        "{title} is no longer proved isolated. Stop, hands out, keep clear.")                      \
    SAY(ALARM_TAG, "alarm.tag-missing",                                                            \
        "{title} has lost the leader's lock. Stop, hands out, keep clear.")                        \
    SAY(ALARM_LINK, "alarm.link-lost",                                                             \
        "What was asked and hung could not be heard for too long. Stop, hands out, keep clear.")   \
    SAY(ALARM_VOID, "alarm.check-void",                                                            \
        "{title|A check} does not stand any more. Stop, hands out, check it again.")               \
    SAY(ALARM_AWAY, "alarm.daemon-away",                                                           \
        "The daemon was away too long to vouch for the lockout. Stop, hands out, keep clear.")     \
    SAY(ALARM_UNPROVED, "alarm.unproved",                                                          \
        "The lockout is no longer proved isolated. Stop, hands out, keep clear.")                  \
    /* What somebody did or did not do. */                                                         \
    SAY(ALARM_STOP_CALLED, "alarm.stop-called",                                                    \
        "{by} called a stop: {reason|no reason given}. Keep clear until it is seen to.")           \
    SAY(ALARM_LOCK_REMOVED, "alarm.absent-lock-removed",                                           \
        "{by} removed the lock of {person} on {title}: who relied on it looks again.")             \
    SAY(ALARM_BADGE_REMOVED, "alarm.absent-lock-removed.badge",                                    \
        "{by} removed the lock of {badge} on {title}: who relied on it looks again.")              \
    SAY(ALARM_CHECK_IN, "alarm.check-in-overdue",                                                  \
        "{person} has not checked in: find out how they are.")                                     \
    SAY(ALARM_TAG_LEFT, "alarm.tag-left",                                                          \
        "The lock of {person} has hung on {title} for over 12 hours.")                             \
    SAY(ALARM_BADGE_LEFT, "alarm.tag-left.badge",                                                  \
        "The lock of {badge} has hung on {title} for over 12 hours.")                              \
    /* What is so at the site. */                                                                  \
    SAY(ALARM_LEFT_LIVE, "alarm.left-live",                                                        \
        "{title} reads LIVE, and position {position} was repaired and not tested. It can "         \
        "dispense: isolate it.")                                                                   \
    SAY(ALARM_LINK_DOWN, "alarm.link-down",                                                        \
        "A connection to the site's hardware is down: nothing is permitted.")                      \
    SAY(ALARM_TOPIC_DOWN, "alarm.link-down.topic",                                                 \
        "The broker delivers nothing on {subject}: nothing is permitted.")                         \
    SAY(ALARM_JOURNAL_DOWN, "alarm.journal-down",                                                  \
        "The journal cannot be written: nothing is permitted.")                                    \
    SAY(ALARM_JOURNAL_ROOM, "alarm.journal-down.room",                                             \
        "The journal cannot be written: {min} {unit} must be free on its disk, {value} {unit} "    \
        "are. Nothing is permitted.")                                                              \
    SAY(ALARM_CONTESTED, "alarm.site-contested",                                                   \
        "Another daemon says that it serves this site: nothing is permitted here.")                \
    SAY(ALARM_CLOCK, "alarm.clock",                                                                \
        "The clock of {subject} and the daemon's disagree: its readings cannot be trusted.")       \
    SAY(ALARM_OWN_CLOCK, "alarm.clock.daemon",                                                     \
        "The daemon's clock is behind the journal: nothing is permitted until it is compared.")    \
    SAY(ALARM_CLOCK_SET, "alarm.clock.set",                                                        \
        "The daemon's clock was set: nothing is permitted for a minute.")                          \
    SAY(ALARM_WEBHOOK_DOWN, "alarm.webhook-down",                                                  \
        "The webhook {subject} does not take events: what it keeps of this site is out of date. "  \
        "Nothing is lost.")                                                                        \
    SAY(ALARM_SPILL_DUE, "alarm.spill-report-due",                                                 \
        "Spill {subject} at {position}, {amount} of {product}: report due by {until}.")            \
    SAY(ALARM_SPILL_OVERDUE, "alarm.spill-report-due.overdue",                                     \
        "Spill {subject} at {position}, {amount} of {product}: the report was due by {until}.")
