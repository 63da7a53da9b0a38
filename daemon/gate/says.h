// The sentences that a refusal can say, one row each: its name in C, its name outside (`args.say`),
// its code, and its words: what is needed, what is found where it is met, what is found where it is
// not, and the sentence itself.
//
// `{name}` stands for an argument (refusal.h), `{name|words}` for one that may be absent, `{need}`
// and
// `{found}` for the refusal's own, `{seen}` and `{signed}` for what several arguments say together.
// A page in another language has a sentence of its own under the name, so that a wording may change
// here without any page noticing. A name is never given to something else: a journal keeps it.
#pragma once

#include "gate/alarm_says.h"

#define GATE_SAYS(SAY)                                                                             \
    /* The daemon's own condition. */                                                              \
    SAY(LINK_DOWN, "link-down", LINK_DOWN, "the broker link up", "up", "down",                     \
        "The link to the site's hardware is down: wait until it is back.")                         \
    SAY(JOURNAL_DOWN, "journal-down", JOURNAL_DOWN, "a journal that writes", "writes",             \
        "does not write", "The journal cannot be written: nothing can be permitted now.")          \
    SAY(JOURNAL_UNREADABLE, "journal-down.unreadable", JOURNAL_DOWN, "a journal that reads", "",   \
        "it cannot be read", "The journal cannot be read: ask again later.")                       \
    SAY(CLOCK_WRONG, "clock-wrong", CLOCK_WRONG, "a clock that is right", "right", "may be wrong", \
        "The daemon's clock may be wrong: have it compared, and the alarm acknowledged.")          \
    SAY(SITE_CONTESTED, "site-contested", SITE_CONTESTED, "one daemon for the site", "one",        \
        "another is online",                                                                       \
        "Another daemon says that it serves this site: have that cleared first.")                  \
    /* Points. */                                                                                  \
    SAY(POINT_LIVE, "point-live", POINT_LIVE, "isolated, settled and trusted", "{seen}", "{seen}", \
        "{title} reads LIVE: isolate it.")                                                         \
    SAY(POINT_DISAGREES, "point-disagrees", POINT_DISAGREES, "isolated, settled and trusted",      \
        "{seen}", "{seen}", "{title} reads LIVE: isolate it.")                                     \
    SAY(POINT_LOOK, "point-look", POINT_UNKNOWN, "isolated, settled and trusted", "{seen}",        \
        "{seen}", "{title}: look, and say that it is isolated ({said} of {of} have).")             \
    SAY(POINT_SETTLING, "point-settling", POINT_SETTLING, "isolated, settled and trusted",         \
        "{seen}", "{seen}", "{title} was isolated a moment ago: wait.")                            \
    SAY(POINT_UNKNOWN, "point-unknown", POINT_UNKNOWN, "isolated, settled and trusted", "{seen}",  \
        "{seen}", "{title} is not proved isolated ({seen}): treat it as live.")                    \
    SAY(POINT_STALE, "point-stale", POINT_STALE, "isolated, settled and trusted", "{seen}",        \
        "{seen}", "{title} is not proved isolated ({seen}): treat it as live.")                    \
    SAY(CONTROLLER_OFFLINE, "controller-offline", CONTROLLER_OFFLINE,                              \
        "isolated, settled and trusted", "{seen}", "{seen}",                                       \
        "{title} is not proved isolated ({seen}): treat it as live.")                              \
    SAY(POINT_ISOLATE_FIRST, "point-isolate-first", POINT_UNKNOWN, "isolated now", "{seen}",       \
        "{seen}", "{title} does not read isolated ({seen}): isolate it before you lock it.")       \
    SAY(POINT_NOT_RESTORED, "point-not-restored", POINT_NOT_RESTORED, "live and trusted",          \
        "{seen}", "{seen}", "{title} is not proved live again: restore it.")                       \
    SAY(POINT_LOOK_LIVE, "point-not-restored.look", POINT_NOT_RESTORED, "live and trusted",        \
        "{seen}", "{seen}",                                                                        \
        "{title} is not proved live again: restore it, look and say so ({said} of {of} have).")    \
    SAY(SENSOR_LIVE, "point-live.sensor", POINT_LIVE, "a sensor that does not say live", "",       \
        "it says live", "{title} says LIVE now: what says so is not out of order.")                \
    SAY(DISTRUST_BY_CREW, "not-allowed.crew-of", NOT_ALLOWED, "a supervisor of no such crew", "",  \
        "of the crew of {job}",                                                                    \
        "You are of the crew of job {job}, which needs this point: another supervisor says so.")   \
    SAY(DISTRUST_AND_WITNESS, "not-allowed.distrusts", NOT_ALLOWED, "somebody else", "",           \
        "who says that its sensor is out of order",                                                \
        "You say that its sensor is out of order: two others look and say what the point is.")     \
    SAY(POINT_HAS_SENSORS, "not-allowed.sensors", NOT_ALLOWED, "a point without sensors", "",      \
        "it has sensors", "This point reports for itself: no word can stand for it.")              \
    SAY(ENERGY_UNMAPPED, "energy-unmapped", ENERGY_UNMAPPED, "a point that isolates this energy",  \
        "", "none", "Nothing here is known to isolate an energy of this job.")                     \
    SAY(ENERGY_UNMAPPED_OPEN, "energy-unmapped.open", ENERGY_UNMAPPED,                             \
        "a point that isolates this energy", "", "none",                                           \
        "Nothing here is known to isolate an energy of this job: it cannot be opened.")            \
    /* Locks and tags. */                                                                          \
    SAY(TAG_MISSING, "tag-missing", TAG_MISSING, "a lock and tag of {person} that counts",         \
        "hangs", "none", "{person} must hang lock and tag on {title}.")                            \
    SAY(TAG_MISSING_AGAIN, "tag-missing.again", TAG_MISSING,                                       \
        "a lock and tag of {person} that counts", "hangs", "hangs, but {what}",                    \
        "{person} must hang lock and tag on {title} again.")                                       \
    SAY(TAG_MISSING_READER, "tag-missing.reader", TAG_MISSING,                                     \
        "a lock and tag of {person} that counts", "hangs", "none",                                 \
        "{person} must hang lock and tag on {title}, at its reader.")                              \
    SAY(TAG_MISSING_OWN, "tag-missing.own", TAG_MISSING, "your own lock and tag", "", "none",      \
        "You have no lock of this job there.")                                                     \
    SAY(TAG_MISSING_ABSENT, "tag-missing.absent", TAG_MISSING, "a lock of theirs", "", "none",     \
        "No such lock hangs there.")                                                               \
    SAY(TAG_MISSING_OF_JOB, "tag-missing.absent-job", TAG_MISSING, "a lock of theirs for {job}",   \
        "", "one of no job, or of another",                                                        \
        "A lock of theirs hangs on {title}, but not for {job}: leave the job out, or name the "    \
        "one that it hangs for.")                                                                  \
    SAY(TAG_NOT_YOURS, "tag-not-yours", TAG_NOT_YOURS, "your own lock and tag", "",                \
        "those of others", "Only who hung a lock may take it off.")                                \
    SAY(TAG_BY_READER, "tag-by-reader", TAG_BY_READER, "a lock that the reader sees", "",          \
        "asked by a request", "Hang your lock in the reader's place: it alone tells of it.")       \
    SAY(TAG_OF_ASKER, "not-allowed.own-lock", NOT_ALLOWED, "the lock of somebody absent", "",      \
        "your own", "Your own lock you lift yourself.")                                            \
    SAY(TAG_HUNG, "tag-hung", TAG_HUNG, "no lock or tag", "", "{person}",                          \
        "The lock of {person} still hangs on {title}.")                                            \
    SAY(TAG_HUNG_BADGE, "tag-hung.badge", TAG_HUNG, "no lock or tag", "",                          \
        "{badge} (unknown badge)", "The lock of {badge} still hangs on {title}.")                  \
    SAY(TAG_SEEN, "tag-hung.seen", TAG_HUNG, "no lock or tag", "", "{person}, seen by its reader", \
        "The reader of {title} still sees the lock of {person}: have it see that go, or a "        \
        "supervisor say so.")                                                                      \
    SAY(ATTEST_NOT_ON_SITE, "attestation-missing.not-on-site", ATTESTATION_MISSING,                \
        "attested true", "", "not attested", "Verify first that the owner is not on site.")        \
    SAY(ATTEST_CONTACT_TRIED, "attestation-missing.contact-tried", ATTESTATION_MISSING,            \
        "attested true", "", "not attested",                                                       \
        "Make every reasonable effort to reach the owner first.")                                  \
    SAY(ATTEST_WILL_BE_TOLD, "attestation-missing.will-be-told", ATTESTATION_MISSING,              \
        "attested true", "", "not attested",                                                       \
        "The owner must be told before resuming work: attest that.")                               \
    SAY(ATTEST_SEEN_OFF, "attestation-missing.seen-off", ATTESTATION_MISSING, "attested true", "", \
        "not attested", "See first that the lock is off.")                                         \
    /* Checks. */                                                                                  \
    SAY(CHECK_MISSING, "check-missing", CHECK_MISSING, "{title}", "{signed}", "not signed",        \
        "{title}: not signed yet.")                                                                \
    SAY(CHECK_VOID, "check-void", CHECK_VOID, "{title}", "", "{signed}, no longer standing",       \
        "{title}: check and sign it again.")                                                       \
    SAY(CHECK_FAILED, "check-failed", CHECK_FAILED, "{title}", "", "{signed}",                     \
        "{title}: signed as failed.")                                                              \
    SAY(CHECK_NONE_KNOWN, "check-missing.none-known", CHECK_MISSING, "a check of this kind", "",   \
        "none known", "Nothing is known to check here: nothing is proved.")                        \
    SAY(CHECK_OWN_VERIFY, "check-missing.own-verify", CHECK_MISSING, "{title}", "",                \
        "not signed by you since you joined",                                                      \
        "Verify it yourself and sign before you take the lead.")                                   \
    SAY(WINDOW_HOLD, "check-out-of-season.isolated", CHECK_OUT_OF_SEASON,                          \
        "every required point isolated, settled and tagged by the leader", "",                     \
        "phase {phase}, lockout {lockout}", "Not now: it takes {need}.")                           \
    SAY(WINDOW_PREPARE, "check-out-of-season.prepare", CHECK_OUT_OF_SEASON,                        \
        "every prepare check signed, valid and within limits", "", "not so: {title}",              \
        "Not now: sign first: {title}.")                                                           \
    SAY(WINDOW_SHARED, "check-out-of-season.shared", CHECK_OUT_OF_SEASON,                          \
        "no job that shares under test", "", "job {with} is {phase}",                              \
        "Not now: job {with} on {position}, which shares this cabinet or its points, is {phase}.") \
    SAY(WINDOW_WORK, "check-out-of-season.work", CHECK_OUT_OF_SEASON,                              \
        "work under a confirmed lockout", "", "phase {phase}, lockout {lockout}",                  \
        "Not now: it takes {need}.")                                                               \
    SAY(WINDOW_CLEAR, "check-out-of-season.clear", CHECK_OUT_OF_SEASON,                            \
        "phase working or stopped", "", "phase {phase}, lockout {lockout}",                        \
        "Not now: it takes {need}.")                                                               \
    SAY(WINDOW_LEAVE, "check-out-of-season.leave", CHECK_OUT_OF_SEASON,                            \
        "phase working, stopped or, once work was started, open", "",                              \
        "phase {phase}, lockout {lockout}", "Not now: it takes {need}.")                           \
    SAY(WINDOW_TESTING, "check-out-of-season.testing", CHECK_OUT_OF_SEASON, "phase testing", "",   \
        "phase {phase}, lockout {lockout}", "Not now: it takes {need}.")                           \
    SAY(WINDOW_STANDING, "check-out-of-season.standing", CHECK_OUT_OF_SEASON, "a job that stands", \
        "", "phase {phase}, lockout {lockout}", "Not now: it takes {need}.")                       \
    SAY(WINDOW_UNPROTECTED, "check-out-of-season.unprotected", CHECK_OUT_OF_SEASON, "{need}", "",  \
        "not every required point has a counting lock and tag of {person|the leader}",             \
        "Hang lock and tag on every required point before you sign this.")                         \
    SAY(WINDOW_NOTICE, "check-out-of-season.notice", CHECK_OUT_OF_SEASON,                          \
        "the hours of its notice gone by", "", "they end at {until}",                              \
        "Test {test} was announced too short a time ago: it may be recorded from {until}.")        \
    SAY(NOTICE_UNASKED, "check-missing.notice", CHECK_MISSING, "a notice of test {test}", "",      \
        "not asked by this job",                                                                   \
        "Test {test} must be announced, and this job does not ask for {check}: cancel it and "     \
        "open one that does.")                                                                     \
    SAY(INSTRUMENT_MISSING, "instrument-missing", INSTRUMENT_MISSING, "{kind}", "", "none named",  \
        "Name the instrument that the reading was taken with.")                                    \
    SAY(INSTRUMENT_KIND, "instrument-missing.kind", INSTRUMENT_MISSING, "{kind}", "",              \
        "{other_kind}", "That is another kind of instrument.")                                     \
    SAY(INSTRUMENT_WITHOUT_LENGTH, "instrument-missing.length", INSTRUMENT_MISSING,                \
        "a wrench whose length is known", "", "{instrument}, without a length",                    \
        "Nobody has said how long that wrench is: take another.")                                  \
    SAY(INSTRUMENT_OVERDUE, "instrument-overdue", INSTRUMENT_OVERDUE, "calibration in date", "",   \
        "{until}", "That instrument's calibration is out of date: take another.")                  \
    /* Tests. */                                                                                   \
    SAY(TEST_MISSING, "test-missing", TEST_MISSING, "test {test} ({rule}) passed", "passed",       \
        "not recorded", "Test {test}: {found}.")                                                   \
    SAY(TEST_NOTICE, "test-missing.notice", TEST_MISSING, "test {test} ({rule}) passed", "",       \
        "to be recorded from {until}", "Test {test}: announced, it may be recorded from {until}.") \
    SAY(TEST_VOID, "test-missing.void", TEST_MISSING, "test {test} ({rule}) passed", "",           \
        "recorded, no longer standing", "Test {test}: {found}.")                                   \
    SAY(TEST_BORDERLINE, "test-missing.borderline", TEST_MISSING, "test {test} ({rule}) passed",   \
        "", "borderline, run {run} of {runs}", "Test {test}: {found}.")                            \
    SAY(TEST_FAILED, "test-failed", TEST_FAILED, "test {test} ({rule}) passed", "", "failed",      \
        "Test {test}: {found}.")                                                                   \
    SAY(TEST_NOTE_MISSING, "note-missing", NOTE_MISSING, "a note of what was changed", "", "none", \
        "This test failed before: write what was changed since.")                                  \
    SAY(READING_OUTSIDE, "reading-not-valid", READING_NOT_VALID, "{need}", "", "{found}",          \
        "{reading} is {found}: the method holds for {need}. Measure again within it.")             \
    SAY(READING_BELOW, "reading-not-valid.least", READING_NOT_VALID, "{need}", "", "{found}",      \
        "{reading} is {found}: the method holds for {need}. Measure again within it.")             \
    SAY(READING_ABOVE, "reading-not-valid.most", READING_NOT_VALID, "{need}", "", "{found}",       \
        "{reading} is {found}: the method holds for {need}. Measure again within it.")             \
    SAY(READING_CONTRADICTS, "reading-not-valid.site", READING_NOT_VALID, "{need}", "", "{found}", \
        "{reading} is {found}: the site's file says {need}. One of the two is wrong.")             \
    SAY(READING_OVER_TANKS, "reading-not-valid.tanks", READING_NOT_VALID, "{need}", "", "{found}", \
        "{reading} is {found}: the site's tanks hold {need}. One of the two is wrong.")            \
    SAY(TEST_NONE_KNOWN, "test-missing.none-known", TEST_MISSING, "the job's tests", "",           \
        "none known", "The tests of this job are not known.")                                      \
    /* People and parts. */                                                                        \
    SAY(CREDENTIAL_MISSING, "credential-missing", CREDENTIAL_MISSING, "one of: {any}", "held",     \
        "none", "{person} lacks a credential for this job ({any}).")                               \
    SAY(CREDENTIAL_EXPIRED, "credential-expired", CREDENTIAL_EXPIRED, "one of: {any}", "held",     \
        "expired", "{person} has let a credential expire ({any}).")                                \
    SAY(HELPER_SIGNS, "credential-missing.helper", CREDENTIAL_MISSING, "one of: {any}", "held",    \
        "a helper", "{person} is here as a helper: somebody who holds {any} signs this.")          \
    SAY(PART_MISMATCH, "part-mismatch", PART_MISMATCH,                                             \
        "kit family {family|(the position's nozzle family is not configured)}",                    \
        "{kit|no kit named}", "{kit|no kit named}",                                                \
        "The kit ({kit|none named}) must match the nozzle ({family|unknown}): do not fit it.")     \
    SAY(NOT_ASSIGNED, "not-assigned", NOT_ASSIGNED, "a technician in charge", "{leader}", "none",  \
        "The job is not assigned to a technician yet.")                                            \
    SAY(NOT_LEADER, "not-assigned.leader", NOT_ASSIGNED, "the technician in charge", "",           \
        "{leader|nobody}", "Only the technician in charge of this job may do that.")               \
    SAY(NOT_IN_CREW, "not-in-crew", NOT_IN_CREW, "one of the crew", "", "not in it",               \
        "Join the job first: you are not in its crew.")                                            \
    SAY(OTHER_NOT_IN_CREW, "not-in-crew.other", NOT_IN_CREW, "one of the crew", "", "not in it",   \
        "That person is not in the crew.")                                                         \
    SAY(OFFERED_NOT_IN_CREW, "not-in-crew.offer", NOT_IN_CREW, "one of the crew", "", "not in it", \
        "The lead can only be offered to one of the crew.")                                        \
    SAY(ACKNOWLEDGER_NOT_IN_CREW, "not-in-crew.alarm", NOT_IN_CREW,                                \
        "one of the crew, a manager or a supervisor", "", "neither",                               \
        "Only the crew, a manager or a supervisor may acknowledge this.")                          \
    SAY(ACKNOWLEDGER_NOT_ALLOWED, "not-allowed.alarm", NOT_ALLOWED,                                \
        "one of the crew, a manager or a supervisor", "", "neither",                               \
        "Only the crew, a manager or a supervisor may acknowledge this.")                          \
    SAY(ACKNOWLEDGER_NOT_CALLER, "not-allowed.alarm-caller", NOT_ALLOWED,                          \
        "who called the stop last, a manager or a supervisor", "", "none of them",                 \
        "Only who called the stop, a manager or a supervisor may acknowledge this.")               \
    SAY(ACKNOWLEDGER_NO_OVERSEER, "not-allowed.alarm-overseer", NOT_ALLOWED,                       \
        "a manager or a supervisor", "", "neither",                                                \
        "Only a manager or a supervisor may acknowledge this.")                                    \
    SAY(ACKNOWLEDGER_DID_IT, "not-allowed.alarm-own", NOT_ALLOWED, "somebody who did not do it",   \
        "", "who did it", "You did what this alarm is about: somebody else has to see to it.")     \
    SAY(ROLE, "not-allowed", NOT_ALLOWED, "a role that may ask this", "", "another role",          \
        "Your role does not allow this.")                                                          \
    SAY(ROLE_CREW, "not-allowed.crew", NOT_ALLOWED, "one of the crew", "", "another role",         \
        "Your role does not allow this.")                                                          \
    SAY(ROLE_TECHNICIAN, "not-allowed.technician", NOT_ALLOWED, "a technician", "",                \
        "another role", "Your role does not allow this.")                                          \
    SAY(ROLE_SIGNER, "not-allowed.signer", NOT_ALLOWED, "{role}", "", "another role",              \
        "Your role does not allow this.")                                                          \
    SAY(OF_OTHER_SITE, "not-allowed.site", NOT_ALLOWED, "somebody of this site", "",               \
        "of other sites", "You are not registered for this site.")                                 \
    SAY(NO_TECHNICIAN, "not-allowed.in-charge", NOT_ALLOWED, "a technician of this site", "",      \
        "another role or site", "Only a technician of this site can be in charge.")                \
    SAY(LEADER_LEAVES, "not-allowed.leader-leaves", NOT_ALLOWED, "somebody who does not lead", "", \
        "the technician in charge", "Who is in charge cannot leave: hand the lead over first.")    \
    SAY(LEADS_ALREADY, "not-allowed.leads-already", NOT_ALLOWED, "somebody who does not lead", "", \
        "the technician in charge", "That person is in charge already.")                           \
    SAY(NOT_OFFERED, "not-allowed.not-offered", NOT_ALLOWED, "an offer of the lead", "",           \
        "none that stands", "The lead of this job was not offered to you.")                        \
    /* The job and those that share. */                                                            \
    SAY(WRONG_PHASE, "wrong-phase", WRONG_PHASE, "{phases}", "", "{phase}",                        \
        "The job is {phase}: this is for one that is {need}.")                                     \
    SAY(INSPECTION, "wrong-phase.inspection", WRONG_PHASE, "a repair", "", "an inspection",        \
        "Nothing is worked on in an inspection: begin its tests.")                                 \
    SAY(JOB_ENDED, "wrong-phase.ended", WRONG_PHASE, "standing", "", "{phase}",                    \
        "The job is {phase}: this is for one that is {need}.")                                     \
    SAY(POSITION_HAS_JOB, "position-has-job", POSITION_HAS_JOB, "no job on the position", "",      \
        "{with}", "Another job stands on this position.")                                          \
    SAY(JOB_EXISTS, "job-exists", JOB_EXISTS, "an id never used", "", "used before",               \
        "This job id was used before: take a new one.")                                            \
    SAY(ALARM_OPEN, "alarm-open", ALARM_OPEN, "every alarm acknowledged", "none open",             \
        "an alarm is not acknowledged", "An alarm of this job has not been acknowledged.")         \
    SAY(FUEL_UNACCOUNTED, "fuel-unaccounted", FUEL_UNACCOUNTED,                                    \
        "drawn, returned and kept {product} equal within {tolerance}", "accounted for",            \
        "{amount} not accounted for",                                                              \
        "{amount} of {product} is not accounted for: record what was returned or kept.")           \
    SAY(FUEL_OVER, "fuel-unaccounted.over", FUEL_UNACCOUNTED,                                      \
        "drawn, returned and kept {product} equal within {tolerance}", "accounted for",            \
        "{amount} too much",                                                                       \
        "{amount} more of {product} was returned or kept than drawn: record what was drawn, or "   \
        "take back what was recorded wrongly.")                                                    \
    SAY(FUEL_NOTE_MISSING, "note-missing.fuel", NOTE_MISSING,                                      \
        "a note of what was recorded wrongly", "", "none", "Write what was recorded wrongly.")     \
    SAY(TOO_MANY_ATTACHED, "too-many.attached", TOO_MANY, "at most 16 pieces of evidence", "",     \
        "16 already", "This job has 16 pieces of evidence attached: it takes no more.")            \
    SAY(ALARM_CHANGED, "alarm-changed", ALARM_CHANGED, "the alarm as it was last raised", "",      \
        "raised again since", "This alarm was raised again: look at it once more.")                \
    SAY(ALARM_NOTE_MISSING, "note-missing.alarm", NOTE_MISSING, "a note of what was done", "",     \
        "none", "Write what was done about this alarm.")                                           \
    SAY(LEAVE_NOTE_MISSING, "note-missing.leave", NOTE_MISSING, "a note of how it was made safe",  \
        "", "none", "Write how it was made safe: a point cannot be isolated.")                     \
    SAY(SHARED_TESTING, "shared-testing", SHARED_TESTING, "no job that shares under test", "",     \
        "job {with} is {phase}",                                                                   \
        "Job {with} on {position}, which shares this cabinet or its points, is {phase}.")          \
    SAY(SHARED_LOCKED, "shared-locked", SHARED_LOCKED, "no job that shares working or stopped",    \
        "", "job {with} is {phase}",                                                               \
        "Job {with} on {position}, which shares this cabinet or its points, is {phase}.")          \
    /* What there is not. */                                                                       \
    SAY(UNKNOWN_SITE, "unknown-site", UNKNOWN_SITE, "a site of this daemon", "", "none",           \
        "There is no such site here.")                                                             \
    SAY(UNKNOWN_ASKER, "unknown-person.asker", UNKNOWN_PERSON, "a person of the people file", "",  \
        "none", "You are not known here.")                                                         \
    SAY(UNKNOWN_PERSON, "unknown-person", UNKNOWN_PERSON, "a person of the people file", "",       \
        "none", "That person is not known here.")                                                  \
    SAY(UNKNOWN_POSITION, "unknown-position", UNKNOWN_POSITION, "a position of this site", "",     \
        "none", "There is no such position here.")                                                 \
    SAY(UNKNOWN_PROCEDURE, "unknown-procedure", UNKNOWN_PROCEDURE, "a configured procedure", "",   \
        "none", "There is no such procedure.")                                                     \
    SAY(UNKNOWN_JOB, "unknown-job", UNKNOWN_JOB, "a job of this site", "", "none",                 \
        "There is no such job here.")                                                              \
    SAY(NO_JOB_NAMED, "unknown-job.unnamed", UNKNOWN_JOB, "a job of this site", "", "none",        \
        "Name the job that this is for.")                                                          \
    SAY(NO_JOB_OF_WORD, "unknown-job.isolated-for", UNKNOWN_JOB, "the job it is said for", "",     \
        "none", "Say for which job the point is isolated.")                                        \
    SAY(UNKNOWN_POINT, "unknown-point", UNKNOWN_POINT, "a point of this site", "", "none",         \
        "There is no such point here.")                                                            \
    SAY(POINT_NOT_REQUIRED, "unknown-point.not-required", UNKNOWN_POINT,                           \
        "a point that the job requires", "", "{found|none}",                                       \
        "The job does not require that point.")                                                    \
    SAY(UNKNOWN_CHECK, "unknown-check", UNKNOWN_CHECK, "a check of the job", "", "none",           \
        "This job has no such check.")                                                             \
    SAY(UNKNOWN_TEST, "unknown-test", UNKNOWN_TEST, "a test of the job", "", "none",               \
        "This job has no such test.")                                                              \
    SAY(UNKNOWN_ALARM, "unknown-alarm", UNKNOWN_ALARM, "an alarm that stands", "", "none",         \
        "There is no such alarm now.")                                                             \
    SAY(UNKNOWN_SENSOR, "unknown-sensor", UNKNOWN_SENSOR, "a sensor of this site", "", "none",     \
        "There is no such sensor here.")                                                           \
    SAY(UNKNOWN_INSTRUMENT, "unknown-instrument", UNKNOWN_INSTRUMENT, "an instrument of the list", \
        "", "none", "That instrument is not known here.")                                          \
    SAY(UNKNOWN_VERB, "unknown-verb", UNKNOWN_VERB, "a known verb", "", "{verb}",                  \
        "There is no request of this name.")                                                       \
    SAY(ID_REUSED, "id-reused", ID_REUSED, "a new id for a new request", "", "{verb}",             \
        "This request id was used for something else: take a new one.")                            \
    SAY(TOO_LATE, "too-late", TOO_LATE, "a request of now", "", "it waited",                       \
        "This was asked too long ago to be done now: look again, and ask anew.")                   \
    SAY(NOT_TOLD, "not-told", NOT_TOLD, "that you know of it", "", "not confirmed",                \
        "Your lock on {title|a point} was removed while you were away: say first that you know "   \
        "of it.")                                                                                  \
    SAY(NOTHING_TOLD, "not-allowed.nothing-to-confirm", NOT_ALLOWED,                               \
        "somebody whose lock was removed", "", "nobody's", "No lock of yours was removed.")        \
    /* What cannot be taken. */                                                                    \
    SAY(UNREADABLE, "malformed.unreadable", MALFORMED, "a JSON object (RFC 8259)", "",             \
        "line {line}, column {column}", "The request cannot be read: {what}.")                     \
    SAY(NO_OBJECT, "malformed.no-object", MALFORMED, "a JSON object", "", "another JSON value",    \
        "The body of a request must be a JSON object.")                                            \
    SAY(BAD_ID, "malformed.id", MALFORMED, "a text of 1 to 64 characters", "", "{found}",          \
        "The id of a request must be a text of 1 to 64 characters.")                               \
    SAY(FIELD_MISSING, "malformed.missing", MALFORMED, "a value", "", "nothing",                   \
        "The field {field} is missing.")                                                           \
    SAY(FIELD_WRONG, "malformed", MALFORMED, "{need}", "", "{found}",                              \
        "The field {field} must be {need}.")                                                       \
    SAY(FIELD_UNKNOWN, "malformed.unknown", MALFORMED, "{nearest|another field}", "", "{field}",   \
        "The request has no field {field}; its nearest is {nearest|another}.")                     \
    SAY(ONE_OF_BOTH, "malformed.both", MALFORMED, "{first} or {second}, not both", "", "both",     \
        "Name {what} by {first} or by {second}, not by both.")                                     \
    SAY(ONE_OF_NEITHER, "malformed.neither", MALFORMED, "{first} or {second}", "", "neither",      \
        "Name {what}, by {first} or by {second}.")                                                 \
    SAY(VALUE_MISSING, "malformed.value", MALFORMED, "{unit|no unit}", "", "no reading",           \
        "This check needs a reading.")                                                             \
    SAY(VALUE_UNASKED, "malformed.value-unasked", MALFORMED, "no reading", "", "a reading",        \
        "This check is answered without a reading.")                                               \
    SAY(UNIT_WRONG, "malformed.unit", MALFORMED, "{unit|no unit}", "", "{other_unit|none}",        \
        "Give the reading in the unit of the check, and name the unit.")                           \
    SAY(NOTE_MISSING, "malformed.note", MALFORMED, "the answer in words", "", "none",              \
        "Write the answer into the note.")                                                         \
    SAY(READINGS_MISSING, "malformed.readings", MALFORMED, "the readings of the test", "", "none", \
        "Give the readings of the test.")                                                          \
    SAY(READING_WRONG, "malformed.reading", MALFORMED, "readings that the test's rule can take",   \
        "", "{what}", "{what}")

#define GATE_SAY_NAME(id, name, code, need, met, found, say) GATE_SAY_##id,
#define GATE_SAY_NAME_OF_ALARM(id, name, say) GATE_SAY_##id,
enum gate_say {
    GATE_SAY_NONE,                           // kept by a journal from before sentences had names
    GATE_SAYS(GATE_SAY_NAME) GATE_SAY_COUNT, // of refusals; behind it those of alarms
    GATE_ALARM_SAYS(GATE_SAY_NAME_OF_ALARM) GATE_SAY_END
};
#undef GATE_SAY_NAME_OF_ALARM
#undef GATE_SAY_NAME
