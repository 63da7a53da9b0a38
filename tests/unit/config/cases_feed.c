// What is said about broken configurations: feeds.
#include "cases.h"

const struct case_of cases_feed[] = {
    // --- feeds ---
    {"a good feed",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]},\n"
       " \"time\": {\"at\": \"/t\", \"as\": \"unix-ms\"}, \"seq\": {\"at\": \"/n\", \"modulus\": "
       "256}, \"quality\": {\"at\": \"/q\", \"good\": [\"GOOD\", 192]}}\n"
       "]}\n"}},
     ""},
    {"two feeds that claim one sensor",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}},\n"
       "{\"feed\": \"other\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"3-{c}\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:4:74: /feeds/1/sensor: claims the sensor \"3-power\" of site "
     "\"juniper\", which the feed \"panel\" claims already (1 sensor in all); one "
     "feed speaks for a sensor\n"},
    {"a feed twice",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}},\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-aux\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:4:10: /feeds/1/feed: the feed \"panel\" stands twice; ids are "
     "unique\n"},
    {"a topic with a wildcard",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/+/{c}\", \"to\": \"signal\", \"sensor\": \"x\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: may not hold the wildcards + and # nor begin "
     "with $; use a {capture}\n"},
    {"a topic with an empty level",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant//{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: has an empty level; leave out the extra "
     "\"/\"\n"
     "feeds/f.json:2:68: /feeds/0/sensor: the topic captures no \"{c}\"\n"},
    {"a capture that is part of a level",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/x{c}\", \"to\": \"signal\", \"sensor\": "
       "\"x\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: a capture is one whole level of the topic, "
     "like \"plant/{site}/status\"\n"},
    {"a capture twice",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{c}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: captures "
     "\"{c}\" twice; give each its own name\n"},
    {"a name that the topic does not capture",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{d}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:74: /feeds/0/sensor: the topic captures no \"{d}\"\n"},
    {"a name used twice",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-{c}\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:74: /feeds/0/sensor: uses \"{c}\" twice; once is enough\n"},
    {"a template of other letters",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}/power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:74: /feeds/0/sensor: must be made of letters, digits, \".\", "
     "\"_\", \"-\" and {captures}\n"},
    {"a topic without a site where there are two",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"sites/twin.json", NULL,
       "{\"site\": \"twin\", \"languages\": [\"en\"], \"positions\": []}\n"},
      {"people.json", "\"juniper\", \"elsewhere\"", "\"juniper\", \"twin\""},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: names no site and there are 2; make one "
     "level \"{site}\"\n"},
    {"another to",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"relay\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:54: /feeds/0/to: must be \"signal\", \"tag\", \"controller\" or "
     "\"measure\", not \"relay\"\n"},
    {"another payload",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"xml\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:13: /feeds/0/payload: must be "
     "\"json\" or \"text\", not \"xml\"\n"},
    {"a signal without a sensor",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:1: /feeds/0: such a feed needs \"sensor\", which is missing\n"
     ""},
    {"a signal with a point",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}, \"point\": \"{c}\"}\n"
       "]}\n"}},
     "feeds/f.json:3:95: /feeds/0/point: does not go with a feed to \"signal\"; leave "
     "it out\n"},
    {"a state without a pointer",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"isolated\": [\"open\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:30: /feeds/0/state: a state needs \"at\", which is missing\n"},
    {"a bad pointer",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:37: /feeds/0/state/at: must "
     "be a JSON Pointer like \"/contact\"\n"},
    {"a bad escape in a pointer",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s~2\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:37: /feeds/0/state/at: must "
     "be a JSON Pointer like \"/contact\"\n"},
    {"a pointer into text",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"text\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:37: /feeds/0/state/at: goes with a payload of \"json\"; of "
     "\"text\" the whole is the value\n"},
    {"no values",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:55: /feeds/0/state/isolated: "
     "may not be empty; name at least one\n"},
    {"a value of two states",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\", 0, "
       "\"closed\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:87: /feeds/0/state/live/0: stands in the other list too; a value "
     "means one state\n"},
    {"a value that is a list",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [[\"open\"]], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:56: /feeds/0/state/isolated/0: must be a text, a number, true or "
     "false, not a list\n"},
    {"a number in text",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"text\", \"state\": {\"isolated\": [0], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:44: /feeds/0/state/isolated/0: must be a text, because the "
     "payload is \"text\"\n"},
    {"another time",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}, \"time\": {\"at\": \"/t\", \"as\": \"unix-us\"}}\n"
       "]}\n"}},
     "feeds/f.json:3:113: /feeds/0/time/as: must "
     "be \"rfc3339\", \"unix-s\" or \"unix-ms\", not \"unix-us\"\n"},
    {"a modulus of one",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}, \"seq\": {\"at\": \"/n\", \"modulus\": 1}}\n"
       "]}\n"}},
     "feeds/f.json:3:117: /feeds/0/seq/modulus: "
     "must be from 2 to 4294967296, not 1\n"},
    {"a quality without values",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}, \"quality\": {\"at\": \"/q\"}}\n"
       "]}\n"}},
     "feeds/f.json:3:97: /feeds/0/quality: a "
     "quality needs \"good\", which is missing\n"},
    {"an unknown word of a state",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolatd\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:30: /feeds/0/state: a state needs \"isolated\", which is "
     "missing\n"
     "feeds/f.json:3:43: /feeds/0/state/isolatd: a state has no field \"isolatd\"; "
     "did you mean \"isolated\"?\n"},
    {"a good reader",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"readers\", \"topic\": \"plant/{site}/reader/{point}\", \"to\": \"tag\", "
       "\"payload\": \"json\", \"point\": \"{point}\",\n"
       " \"person\": {\"at\": \"/badge\", \"map\": {\"0451\": \"t-104\"}}, \"state\": {\"at\": "
       "\"/e\", \"hung\": [\"in\"], \"lifted\": [\"out\"]}}\n"
       "]}\n"}},
     ""},
    {"a reader that maps to nobody",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"readers\", \"topic\": \"plant/{site}/reader/{point}\", \"to\": \"tag\", "
       "\"payload\": \"json\", \"point\": \"{point}\",\n"
       " \"person\": {\"at\": \"/badge\", \"map\": {\"0451\": \"t-999\"}}, \"state\": {\"at\": "
       "\"/e\", \"hung\": [\"in\"], \"lifted\": [\"out\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:45: /feeds/0/person/map/0451: there is no person \"t-999\"\n"},
    {"a reader without a person",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"readers\", \"topic\": \"plant/{site}/reader/{point}\", \"to\": \"tag\", "
       "\"payload\": \"json\", \"point\": \"{point}\",\n"
       " \"state\": {\"at\": \"/e\", \"hung\": [\"in\"], \"lifted\": [\"out\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:1: /feeds/0: such a feed needs \"person\", which is missing\n"
     ""},
    {"a good controller",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"alive\", \"topic\": \"plant/{site}/{k}/alive\", \"to\": \"controller\", "
       "\"payload\": \"text\", \"controller\": \"{k}\",\n"
       " \"state\": {\"online\": [\"1\"], \"offline\": [\"0\"]}}\n"
       "]}\n"}},
     ""},
    {"a controller with a time",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"alive\", \"topic\": \"plant/{site}/{k}/alive\", \"to\": \"controller\", "
       "\"payload\": \"json\", \"controller\": \"{k}\",\n"
       " \"state\": {\"at\": \"\", \"online\": [1], \"offline\": [0]}, \"time\": {\"at\": \"/t\", "
       "\"as\": \"rfc3339\"}}\n"
       "]}\n"}},
     "feeds/f.json:3:62: /feeds/0/time: does not go with a feed to \"controller\"; "
     "leave it out\n"},
    {"a capture that nothing uses",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{box}/{c}\", \"to\": \"signal\", "
       "\"sensor\": \"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: warning: captures \"{box}\" and does not use it: "
     "whatever it is, the message speaks of the same sensor\n"},
    {"a capture of the payload that nothing uses",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"captures\": {\"box\": {\"at\": \"/box\"}}, \"state\": {\"at\": "
       "\"/s\", \"isolated\": [\"open\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:33: /feeds/0/captures: warning: captures \"{box}\" and does not use it: "
     "whatever it is, the message speaks of the same sensor\n"},
    {"a template that can name nothing",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-pwer\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:74: /feeds/0/sensor: warning: can name no sensor of this configuration, so "
     "nothing of this feed will ever be taken\n"},
    {"a map that can name nothing",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"captures\": {\"c\": {\"map\": {\"p7\": \"33\"}}}, \"state\": "
       "{\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:74: /feeds/0/sensor: warning: can name no sensor of this configuration, so "
     "nothing of this feed will ever be taken\n"},
    {"two maps that share no sensor",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"one\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}\",\n"
       " \"payload\": \"json\", \"captures\": {\"c\": {\"map\": {\"p7\": \"3-power\"}}}, "
       "\"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": [\"closed\"]}},\n"
       "{\"feed\": \"two\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}\",\n"
       " \"payload\": \"json\", \"captures\": {\"c\": {\"map\": {\"p8\": \"3-nothing\"}}}, "
       "\"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:4:72: /feeds/1/sensor: warning: can name no sensor of this configuration, so "
     "nothing of this feed will ever be taken\n"},
    {"a topic below the root",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"forelock/{site}/signal/{c}\", \"to\": \"signal\", "
       "\"sensor\": \"{c}-power\",\n"
       " \"payload\": \"json\", \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:28: /feeds/0/topic: is never reached: below the daemon's own root "
     "\"forelock\" no feed is looked at\n"},
    {"two feeds that read one point from one topic",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"one\", \"topic\": \"plant/{site}/reader/{point}\", \"to\": \"tag\", "
       "\"payload\": \"json\", \"point\": \"{point}\",\n"
       " \"person\": {\"at\": \"/b\"}, \"state\": {\"at\": \"/e\", \"hung\": [\"in\"], \"lifted\": "
       "[\"out\"]}},\n"
       "{\"feed\": \"two\", \"topic\": \"plant/{site}/reader/{p}\", \"to\": \"tag\", \"payload\": "
       "\"json\", \"point\": \"{p}\",\n"
       " \"person\": {\"at\": \"/b\"}, \"state\": {\"at\": \"/e\", \"hung\": [\"in\"], \"lifted\": "
       "[\"out\"]}}\n"
       "]}\n"}},
     "feeds/f.json:4:94: /feeds/1/point: names the point \"3-power\" of site \"juniper\" from "
     "topics that the feed \"one\" reads for it already (3 points in all); one of the two is "
     "enough\n"},
    {"readings of a list",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/all\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\", \"each\": \"/r\",\n"
       " \"payload\": \"json\", \"captures\": {\"c\": {\"at\": \"/id\"}}, \"time\": {\"at\": "
       "\"/t\", \"as\": \"unix-s\", \"from\": \"message\"},\n"
       " \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     ""},
    {"a list in text",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\", \"each\": \"/r\",\n"
       " \"payload\": \"text\", \"captures\": {\"d\": {\"at\": \"/id\"}}, \"state\": "
       "{\"isolated\": [\"1\"], \"live\": [\"0\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:95: /feeds/0/each: goes with a payload of \"json\" alone\n"
     "feeds/f.json:3:34: /feeds/0/captures/d: the topic captures no \"{d}\", and a text is one "
     "value\n"},
    {"from a message without a list",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"seq\": {\"at\": \"/n\", \"from\": \"message\"}, \"quality\": "
       "{\"at\": \"/q\", \"good\": [1], \"from\": \"there\"}, \"state\": {\"at\": \"/s\", "
       "\"isolated\": [\"open\"], \"live\": [\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:49: /feeds/0/seq/from: goes with \"each\" alone; without it everything is "
     "from the message\n"
     "feeds/f.json:3:106: /feeds/0/quality/from: must be \"element\" or \"message\", not "
     "\"there\"\n"},
    {"captures that are wrong",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"json\", \"captures\": {\"c\": {\"at\": \"/c\"}, \"site\": {}, \"a-b\": "
       "{\"at\": \"/d\"}}, \"state\": {\"at\": \"/s\", \"isolated\": [\"open\"], \"live\": "
       "[\"closed\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:34: /feeds/0/captures/c: the topic captures \"{c}\" already; leave \"at\" "
     "out\n"
     "feeds/f.json:3:61: /feeds/0/captures/site: a capture of the topic needs \"map\", which is "
     "missing\n"
     "feeds/f.json:3:65: /feeds/0/captures/a-b: a capture's name is letters, digits and \"_\"\n"},
    {"a time in text",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"panel\", \"topic\": \"plant/{site}/{c}\", \"to\": \"signal\", \"sensor\": "
       "\"{c}-power\",\n"
       " \"payload\": \"text\", \"time\": {\"as\": \"unix-s\"}, \"state\": {\"isolated\": [\"1\"], "
       "\"live\": [\"0\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:29: /feeds/0/time: goes with a payload of \"json\": the whole of a \"text\" "
     "is the state\n"},
    {"a measure that nothing can be",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"psi\", \"topic\": \"plant/{site}/{c}\", \"to\": \"measure\", \"measure\": "
       "\"{c}-psi\",\n"
       " \"payload\": \"text\", \"value\": {\"scale\": 0, \"offset\": \"x\"}}\n"
       "]}\n"}},
     "feeds/f.json:2:74: /feeds/0/measure: warning: can name no measure of this configuration, so "
     "nothing of this feed will ever be taken\n"
     "feeds/f.json:3:40: /feeds/0/value/scale: may not be 0: every reading would be the same\n"
     "feeds/f.json:3:53: /feeds/0/value/offset: must be a number, not a text\n"},
    {"a badge that nothing captures",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"r\", \"topic\": \"p/{site}/{p}\", \"to\": \"tag\", \"payload\": \"json\", "
       "\"point\": \"{p}\",\n"
       " \"person\": {\"capture\": \"badge\"}, \"state\": {\"at\": \"/e\", \"hung\": [\"in\"], "
       "\"lifted\": [\"out\"]}}\n"
       "]}\n"}},
     "feeds/f.json:3:24: /feeds/0/person/capture: nothing captures \"{badge}\"\n"},
    {"a badge in two places",
     {{"forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]"},
      {"feeds/f.json", NULL,
       "{\"feeds\": [\n"
       "{\"feed\": \"r\", \"topic\": \"p/{site}/{p}/{b}\", \"to\": \"tag\", \"payload\": \"json\", "
       "\"point\": \"{p}\",\n"
       " \"person\": {\"at\": \"/b\", \"capture\": \"b\"}, \"state\": {\"at\": \"/e\", \"hung\": "
       "[\"in\"], \"lifted\": [\"out\"]}}\n"
       "]}\n"}},
     "feeds/f.json:2:24: /feeds/0/topic: warning: captures \"{b}\" and does not use it: whatever "
     "it is, the message speaks of the same point\n"
     "feeds/f.json:3:36: /feeds/0/person/capture: does not go with \"at\": a badge stands once\n"},
};
const size_t cases_feed_count = sizeof(cases_feed) / sizeof(cases_feed[0]);
