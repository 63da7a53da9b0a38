// What is said about broken configurations: the first file, people, instruments and webhooks.
#include "cases.h"

#define NO_TECHNICIAN                                                                              \
    "sites/juniper.json:2:11: /site: warning: site \"juniper\": no technician holds the "          \
    "credentials of the procedure \"spout-and-boot\" today\n"

const struct case_of cases_first[] = {
    // --- json ---
    {"not JSON",
     {{"forelock.json", "\"http\": {", "\"http\": {,"}},
     "forelock.json:10:12: /http: not JSON as it should be: a key in double quotes is missing "
     "here\n"},
    {"a duplicate key",
     {{"sites/juniper.json", "\"title\": \"Juniper Crossing\"", "\"site\": \"b\""}},
     "sites/juniper.json:3:3: /site: not JSON as it should be: this key stands twice in its "
     "object\n"},
    {"not an object",
     {{"instruments.json", NULL, "[]\n"}},
     "instruments.json:1:1: : the file of instruments must be an object, not a list\n"},
    {"an empty file",
     {{"people.json", NULL, ""}},
     "people.json:1:1: : not JSON as it should be: the text is empty\n"},
    {"errors of several files at once, in order",
     {{"forelock.json", "1883", "0"},
      {"people.json", "[\"technician\"]", "[\"tecnician\"]"},
      {"sites/juniper.json", "\"3B\", \"dispenser\"", "\"3B\", \"dispensr\""}},
     "forelock.json:6:13: /broker/port: must be from 1 to 65535, not 0\n"
     "people.json:6:17: /people/0/roles/0: must be one of technician, supervisor, manager, "
     "tracker, viewer, not \"tecnician\"; did you mean \"technician\"?\n" NO_TECHNICIAN
     "sites/juniper.json:9:5: /positions/1: a position needs \"dispenser\", which is missing\n"
     "sites/juniper.json:9:24: /positions/1/dispensr: a position has no field \"dispensr\"; did "
     "you mean \"dispenser\"?\n"},
    // --- root ---
    {"an unknown field, and what it may mean",
     {{"forelock.json", "\"journal\"", "\"jurnal\""}},
     "forelock.json:1:1: : the configuration needs \"journal\", which is missing\n"
     "forelock.json:11:3: /jurnal: the configuration has no field \"jurnal\"; did you mean "
     "\"journal\"?\n"},
    {"an unknown field like none",
     {{"forelock.json", "\"feeds\": []", "\"zzz\": 1"}},
     "forelock.json:17:3: /zzz: the configuration has no field \"zzz\"\n"},
    {"a missing field",
     {{"forelock.json", "  \"instance\": \"edge-1\",\n", ""}},
     "forelock.json:1:1: : the configuration needs \"instance\", which is missing\n"},
    {"null is absent",
     {{"forelock.json", "\"edge-1\"", "null"}},
     "forelock.json:1:1: : the configuration needs \"instance\", which is missing\n"},
    {"a wrong kind",
     {{"forelock.json", "\"forelock.db\"", "7"}},
     "forelock.json:11:14: /journal: must be a text, not a number\n"},
    {"a bad id",
     {{"forelock.json", "\"edge-1\"", "\"edge 1\""}},
     "forelock.json:2:15: /instance: must be an id: 1 to 64 of A-Z a-z 0-9 . _ -, with a letter or "
     "digit first, not \"edge 1\"\n"},
    {"an id that would command a terminal",
     {{"forelock.json", "\"edge-1\"", "\"\\u001b[2J\""}},
     "forelock.json:2:15: /instance: must be an id: 1 to 64 of A-Z a-z 0-9 . _ -, with a letter or "
     "digit first, not \"?[2J\"\n"},
    {"an id too long",
     {{"forelock.json", "\"edge-1\"",
       "\"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa\""}},
     "forelock.json:2:15: /instance: must be an id: 1 to 64 of A-Z a-z 0-9 . _ -, with a letter or "
     "digit first\n"},
    {"a root with a wildcard",
     {{"forelock.json", "\"root\": \"forelock\"", "\"root\": \"a/+\""}},
     "forelock.json:3:11: /root: must be a topic without spaces, wildcards or empty levels, like "
     "\"forelock\"\n"},
    {"a root with an empty level",
     {{"forelock.json", "\"root\": \"forelock\"", "\"root\": \"a//b\""}},
     "forelock.json:3:11: /root: must be a topic without spaces, wildcards or empty levels, like "
     "\"forelock\"\n"},
    {"an empty text",
     {{"forelock.json", "\"forelock.db\"", "\"\""}},
     "forelock.json:11:14: /journal: must be a text of 1 to 4000 bytes, not of 0\n"},
    {"a broker without a host",
     {{"forelock.json", "    \"host\": \"127.0.0.1\",\n", ""}},
     "forelock.json:4:13: /broker: the broker needs \"host\", which is missing\n"},
    {"a port out of range",
     {{"forelock.json", "1883", "65536"}},
     "forelock.json:6:13: /broker/port: must be from 1 to 65535, not 65536\n"},
    {"a port that is not whole",
     {{"forelock.json", "1883", "18.5"}},
     "forelock.json:6:13: /broker/port: must be a whole number\n"},
    {"a password file that is not there",
     {{"forelock.json", "broker.secret", "none.secret"}},
     "forelock.json:8:22: /broker/password_file: the file \"none.secret\" cannot be read: No such "
     "file or directory; name one that exists and that the daemon may read\n"},
    {"a password file that is empty",
     {{"broker.secret", NULL, "\n"}},
     "forelock.json:8:22: /broker/password_file: the file \"broker.secret\" is empty or binary; it "
     "must hold one line of text\n"},
    {"a password without a user",
     {{"forelock.json", "    \"username\": \"forelock\",\n", ""}},
     "forelock.json:4:13: /broker: a broker with \"password_file\" needs \"username\", which is "
     "missing\n"},
    {"a certificate without key and authority",
     {{"forelock.json", "\"port\": 1883", "\"port\": 1883, \"cert_file\": \"broker.secret\""}},
     "forelock.json:4:13: /broker: a broker with \"cert_file\" needs \"ca_file\", which is "
     "missing\n"
     "forelock.json:4:13: /broker: the broker needs \"key_file\", which is missing\n"},
    {"a key without a certificate",
     {{"forelock.json", "\"127.0.0.1:8080\"",
       "\"127.0.0.1:8080\", \"key_file\": \"broker.secret\""}},
     "forelock.json:10:11: /http: http needs \"cert_file\", which is missing\n"},
    {"an authority that is not there",
     {{"forelock.json", "\"port\": 1883", "\"port\": 1883, \"ca_file\": \"ca.pem\""}},
     "forelock.json:6:30: /broker/ca_file: the file \"ca.pem\" cannot be read: No such file or "
     "directory; name one that exists and that the daemon may read\n"},
    {"http without listen",
     {{"forelock.json", "{\"listen\": \"127.0.0.1:8080\"}", "{}"}},
     "forelock.json:10:11: /http: http needs \"listen\", which is missing\n"},
    {"listen without a port",
     {{"forelock.json", "127.0.0.1:8080", "127.0.0.1"}},
     "forelock.json:10:22: /http/listen: must be \"address:port\", like \"127.0.0.1:8080\" or "
     "\"[::1]:8080\"\n"},
    {"people that are not there",
     {{"forelock.json", "\"people.json\"", "\"folk.json\""}},
     "forelock.json:12:13: /people: the file \"folk.json\" cannot be read: No such file or "
     "directory; name one that exists and that the daemon may read\n"},
    {"instruments that are a folder",
     {{"forelock.json", "\"instruments.json\"", "\"sites\""}},
     "forelock.json:13:18: /instruments: the file \"sites\" cannot be read: it is not a regular "
     "file; name one that exists and that the daemon may read\n"},
    {"procedures that no file matches",
     {{"forelock.json", "procedures/*.json", "procedures/*.jsn"}},
     "forelock.json:14:18: /procedures/0: \"procedures/*.jsn\" finds no file; name at least one\n"},
    {"sites that no file matches",
     {{"forelock.json", "sites/*.json", "nowhere/*.json"}},
     "forelock.json:16:13: /sites/0: \"nowhere/*.json\" finds no file; name at least one\n"},
    {"districts that no file matches",
     {{"forelock.json", "districts/*.json", "nowhere/*.json"},
      {"sites/juniper.json", "  \"district\": \"north-basin\",\n", ""}},
     "forelock.json:15:17: /districts/0: warning: \"nowhere/*.json\" finds no file\n"},
    {"feeds that no file matches",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/*.json\"]"}},
     "forelock.json:17:13: /feeds/0: warning: \"feeds/*.json\" finds no file\n"},
    {"a plain path of a feed that is not there",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"}},
     "forelock.json:17:13: /feeds/0: the file \"feeds/f.json\" cannot be read: No such file or "
     "directory; name one that exists and that the daemon may read\n"},
    {"no sites named",
     {{"forelock.json", "[\"sites/*.json\"]", "[]"}},
     "forelock.json:16:12: /sites: may not be empty; name at least one\n"},
    // --- webhooks ---
    {"a good webhook",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example/hook\", \"secret_file\": "
       "\"broker.secret\", \"sites\": [\"juniper\"]}]"}},
     ""},
    {"a webhook of another scheme",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"ftp://tracker.example\", \"secret_file\": \"broker.secret\"}]"}},
     "forelock.json:18:24: /webhooks/0/url: must be an https:// or http:// address with a host\n"},
    {"a webhook without a host",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https:///hook\", \"secret_file\": \"broker.secret\"}]"}},
     "forelock.json:18:24: /webhooks/0/url: must be an https:// or http:// address with a host\n"},
    {"a webhook's secret that is not there",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [\n"
       "{\"url\": \"https://tracker.example\", \"secret_file\": \"hook.secret\"}]"}},
     "forelock.json:19:51: /webhooks/0/secret_file: the file \"hook.secret\" cannot be read: No "
     "such file or directory; name one that exists and that the daemon may read\n"},
    {"a webhook of an unknown site",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example\", \"secret_file\": \"broker.secret\", "
       "\"sites\": [\"junper\"]}]"}},
     "forelock.json:18:93: /webhooks/0/sites/0: there is no site \"junper\"\n"},
    {"a webhook with everything",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"webhook\": \"tracker\", \"url\": \"https://tracker.example/hook\", "
       "\"secret_file\": \"broker.secret\", \"sites\": [\"*\"], \"events\": "
       "[\"forelock.job.opened\", \"alarm.raised\"], \"alarm_after_s\": 60, \"ca_file\": "
       "\"broker.secret\"}]"}},
     ""},
    {"a webhook with a login",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://me:it@tracker.example\", \"secret_file\": "
       "\"broker.secret\"}]"}},
     "forelock.json:18:24: /webhooks/0/url: may hold no user and no password: the receiver knows "
     "us by the signature\n"},
    {"a webhook with a fragment",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example/#a\", \"secret_file\": "
       "\"broker.secret\"}]"}},
     "forelock.json:18:24: /webhooks/0/url: may hold no fragment (\"#\"), which is never sent\n"},
    {"a webhook in clear",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"http://tracker.example/hook\", \"secret_file\": "
       "\"broker.secret\"}]"}},
     "forelock.json:18:24: /webhooks/0/url: http:// is taken only for this machine (127.0.0.1, "
     "[::1], localhost): use https://\n"},
    {"a webhook in clear to a name like loopback",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"http://127.0.0.1.example/\", \"secret_file\": "
       "\"broker.secret\"}]"}},
     "forelock.json:18:24: /webhooks/0/url: http:// is taken only for this machine (127.0.0.1, "
     "[::1], localhost): use https://\n"},
    {"a webhook to this machine",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"http://localhost:8081/hook\", \"secret_file\": "
       "\"broker.secret\"}]"}},
     ""},
    {"a webhook to this machine by IPv6",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"http://[::1]:8081/\", \"secret_file\": \"broker.secret\"}]"}},
     ""},
    {"two webhooks of one name",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example/a\", \"secret_file\": "
       "\"broker.secret\"}, {\"url\": \"https://tracker.example/b\", \"secret_file\": "
       "\"broker.secret\"}]"}},
     "forelock.json:18:86: /webhooks/1: there is another webhook \"tracker.example\"; give each "
     "its own \"webhook\"\n"},
    {"a webhook's secret in bad base 64",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example\", \"secret_file\": "
       "\"broker.secret\"}]"},
      {"broker.secret", "not-a-real-password", "whsec_not!base64"}},
     "forelock.json:18:66: /webhooks/0/secret_file: the file holds a secret that begins with "
     "whsec_ and goes on with what is no base 64\n"},
    {"a webhook of an unknown event",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example\", \"secret_file\": \"broker.secret\", "
       "\"events\": [\"job.openned\"]}]"}},
     "forelock.json:18:94: /webhooks/0/events/0: there is no event \"job.openned\"; did you mean "
     "\"job.opened\"?\n"},
    {"a webhook whose authority is not there",
     {{"forelock.json", "\"webhooks\": []",
       "\"webhooks\": [{\"url\": \"https://tracker.example\", \"secret_file\": \"broker.secret\", "
       "\"ca_file\": \"ca.crt\"}]"}},
     "forelock.json:18:94: /webhooks/0/ca_file: the file \"ca.crt\" cannot be read: No such file "
     "or directory; name one that exists and that the daemon may read\n"},
    // --- people ---
    {"an unknown role",
     {{"people.json", "\"supervisor\", \"manager\"", "\"supervisor\", \"manger\", \"manager\""}},
     "people.json:13:31: /people/1/roles/1: must be one of technician, supervisor, manager, "
     "tracker, viewer, not \"manger\"; did you mean \"manager\"?\n"},
    {"a role twice",
     {{"people.json", "\"supervisor\", \"manager\"", "\"supervisor\", \"manager\", \"manager\""}},
     "people.json:13:42: /people/1/roles/2: the role \"manager\" stands twice in this list; name "
     "it once\n"},
    {"no roles",
     {{"people.json", "[\"technician\"]", "[]"}},
     "people.json:6:16: /people/0/roles: may not be empty; name at least one\n" NO_TECHNICIAN},
    {"no sites",
     {{"people.json",
       ",\n"
       "      \"sites\": [\"juniper\", \"elsewhere\"]",
       ""}},
     "people.json:11:5: /people/1: a person needs \"sites\", which is missing\n"
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no manager: nobody answers for "
     "the site\n"
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no supervisor: nobody can "
     "remove an absent person's tag\n"},
    {"a site that is no id",
     {{"people.json", "\"elsewhere\"", "\"else where\""}},
     "people.json:14:28: /people/1/sites/1: must be the id of a site, or \"*\" for every site\n"},
    {"a person twice",
     {{"people.json", "\"s-201\"", "\"t-104\""}},
     "people.json:12:17: /people/1/person: the person \"t-104\" stands twice; ids are unique\n"
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no manager: nobody answers for "
     "the site\n"
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no supervisor: nobody can "
     "remove an absent person's tag\n"},
    {"a credential twice",
     {{"people.json", "[{\"credential\"", "[{\"credential\": \"vapor-b\"}, {\"credential\""}},
     "people.json:8:65: /people/0/credentials/1/credential: the person has the credential "
     "\"vapor-b\" twice; keep one\n"},
    {"a day that is not in the calendar",
     {{"people.json", "2027-03-31", "2027-02-29"}},
     "people.json:8:58: /people/0/credentials/0/until: must be a day of the calendar, "
     "\"YYYY-MM-DD\", not \"2027-02-29\"\n"},
    {"a day in another spelling",
     {{"people.json", "2027-03-31", "31.03.2027"}},
     "people.json:8:58: /people/0/credentials/0/until: must be a day of the calendar, "
     "\"YYYY-MM-DD\", not \"31.03.2027\"\n"},
    {"a token of 63 digits",
     {{"people.json", "0011223344", "011223344"}},
     "people.json:9:23: /people/0/token_sha256: must be the SHA-256 of the token as 64 hex digits, "
     "never the token itself\n"},
    {"a token with another letter",
     {{"people.json", "\"00112233", "\"g0112233"}},
     "people.json:9:23: /people/0/token_sha256: must be the SHA-256 of the token as 64 hex digits, "
     "never the token itself\n"},
    {"two people with one token",
     {{"people.json", "\"roles\": [\"supervisor\"",
       "\"token_sha256\": \"00112233445566778899AABBCCDDEEFF00112233445566778899AABBCCDDEEFF\",\n"
       "      \"roles\": [\"supervisor\""}},
     "people.json:13:23: /people/1/token_sha256: \"t-104\" has the same token; make each person "
     "one of their own\n"},
    {"an instrument twice",
     {{"instruments.json", "\"2027-01-31\"}",
       "\"2027-01-31\"},\n"
       "    {\"instrument\": \"tw-3\", \"kind\": \"meter\", \"calibrated_until\": "
       "\"2027-01-31\"}"}},
     "instruments.json:4:20: /instruments/1/instrument: the instrument \"tw-3\" stands twice; ids "
     "are unique\n"},
    {"an instrument without calibration",
     {{"instruments.json", ", \"calibrated_until\": \"2027-01-31\"", ""}},
     "instruments.json:3:5: /instruments/0: an instrument needs \"calibrated_until\", which is "
     "missing\n"},
    {"an instrument with a day that is none",
     {{"instruments.json", "2027-01-31", "2027-13-01"}},
     "instruments.json:3:73: /instruments/0/calibrated_until: must be a day of the calendar, "
     "\"YYYY-MM-DD\", not \"2027-13-01\"\n"},
};
const size_t cases_first_count = sizeof(cases_first) / sizeof(cases_first[0]);
