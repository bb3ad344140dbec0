/* SPDX-License-Identifier: MIT */
/*
 * What is wrong in a configuration is refused, each with file, line, what was found and what would
 * do. The limits that are checked here are those of daemon/config/config.h; those in steps are
 * worked out by hand for a screw of 2 mm lead and 1600 steps a turn, 1250 nm a step: 60 000 steps/s
 * are 75 mm/s or 2.9527 in/s, 4 000 000 steps/s2 are 5000 mm/s2.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/config/config.h"
#include "tests/suite.h"
#include "tests/unit/config_spoilt.h"

/* `was` stands once in the good one; `found` comes before the semicolon, `wanted` behind it. */
struct spoiled {
    const char *was;
    const char *is;
    unsigned line;
    const char *found;
    const char *wanted;
};

struct text {
    const char *text;
    size_t size;
    unsigned line;
    const char *found;
    const char *wanted;
};

#define TEN "1234567890"
#define FIFTY TEN TEN TEN TEN TEN

#define RANGE_TRAVEL                                                                               \
    "a length from 1in to 20in, in quotes and with its unit as in \"3in\", would do"
#define RANGE_MARGIN "from 0in to 1in, in quotes and with its unit as in \"1/16in\", would do"
#define RANGE_LASH "a length from 0in to 1/8in, in quotes and with its unit"
#define RANGE_LEAD "a length from .0125in to 1in, in quotes and with its unit as in \"2mm\""
#define ANY_SPEED "a length a second, in quotes as in \"1/4in/s\", would do"
#define ANY_BRAKE "a length a second squared, in quotes as in \"2in/s2\", would do"
#define FULL "a whole number from 20 to 1000, without quotes, would do"
#define PARTS "1, 2, 4, 8, 16, 32, 64, 128 or 256 would do"
#define WIRED "\"absent\", \"active-high\" or \"active-low\" would do"
#define PATH "a path from / on, at most 199 bytes long and with no / at its end, as in \"/"
#define GROUPS                                                                                     \
    "\"screw\", \"travel\", \"speeds\", \"lash\", \"inputs\", \"router\", \"touch_plate\", "       \
    "\"outputs\", \"readout\", \"link\" "                                                          \
    "or \"folders\" would do"

/* clang-format off */
static const struct spoiled spoiled[] = {
    /* Keys and groups that nobody knows; those that belong elsewhere. */
    {"\"screw\": {", "\"skrew\": {", 2, "the unknown group \"skrew\"", GROUPS},
    {"\"lash\": {", "\"Lash\": {", 16, "the unknown group \"Lash\"", GROUPS},
    {"{\n  \"screw\"", "{ \"nudge\": 1,\n  \"screw\"", 1, "the unknown group \"nudge\"", GROUPS},
    {"\"lead\":", "\"pitch\":", 3, "the unknown key \"pitch\" in \"screw\"",
        "\"lead\", \"threads_per_inch\", \"full_steps\" or \"microsteps\" would do"},
    {"\"length\":", "\"lenght\":", 8, "the unknown key \"lenght\" in \"travel\"",
        "\"length\", \"top_margin\" or \"change\" would do"},
    {"\"move\":", "\"fast\":", 12, "the unknown key \"fast\" in \"speeds\"",
        "\"move\", \"search\", \"hold_slow\", \"hold_fast\" or \"brake\" would do"},
    {"\"measured\":", "\"take_up\":", 17, "the unknown key \"take_up\" in \"lash\"",
        "\"measured\" or \"finish\" would do"},
    {"\"top_switch\":", "\"middle_switch\":", 20, "unknown key \"middle_switch\" in \"inputs\"",
        "\"top_switch\", \"bottom_switch\", \"touch_plate\", \"router\", \"carriage_lock\", \"stop_circuit\", "
        "\"motor_supply\" or \"debounce_ms\" would do"},
    {"\"baud\":", "\"parity\":", 27, "the unknown key \"parity\" in \"link\"",
        "\"port\", \"baud\" or \"silence_ms\" would do"},
    {"\"state\":", "\"log\":", 31, "the unknown key \"log\" in \"folders\"",
        "\"state\" or \"socket\" would do"},
    {"\"state\":", "\"\":", 31, "the unknown key \"\" in \"folders\"", "would do"},
    {"\"state\":", "\"sta\\u001bte\":", 31, "unknown key \"sta\\u001bte\"", "would do"},
    {"\"state\":", "\"st\xc3\xa4te\":", 31, "unknown key \"st??te\"", "would do"},
    {"\"state\":", "\"" FIFTY "\":", 31, "\"" TEN TEN TEN TEN "123...\" in", "would do"},
    {"\"full_steps\": 400", "\"port\": \"/dev/x\"", 4, "the unknown key \"port\" in \"screw\"",
        "would do"},

    /* What must be there and is not: the line is that of the group. */
    {"    \"lead\": \"2mm\",\n", "\n", 2, "neither \"lead\" nor \"threads_per_inch\" in \"screw\"",
        "one of them"},
    {"    \"full_steps\": 400,\n", "\n", 2, "no \"full_steps\" in \"screw\"", FULL},
    {"400,\n    \"microsteps\": 4", "400", 2, "no \"microsteps\" in \"screw\"", PARTS},
    {"    \"length\": \"3in\",\n", "\n", 7, "no \"length\" in \"travel\"", RANGE_TRAVEL},
    {"\"travel\": {\n    \"length\": \"3in\",", "\"travel\":\n\n{", 7,
        "no \"length\"", RANGE_TRAVEL},
    {"3in\",\n    \"top_margin\": \"1/16in\"", "3in\"", 7, "no \"top_margin\"", RANGE_MARGIN},
    {"    \"move\": \"10mm/s\",\n", "\n", 11, "no \"move\" in \"speeds\"", ANY_SPEED},
    {"    \"search\": \"1mm/s\",\n", "\n", 11, "no \"search\" in \"speeds\"",
        "a length a second, in quotes as in \"1/32in/s\", would do"},
    {"1mm/s\",\n    \"brake\": \"125mm/s2\"", "1mm/s\"", 11, "no \"brake\"", ANY_BRAKE},
    {"    \"port\": \"/dev/serial/by-id/board\",", "", 25, "no \"port\" in \"link\"", PATH},

    /* Groups that are no groups. */
    {"\"lash\": {\n    \"measured\": \"0.3mm\"\n  }", "\"lash\": \"0.3mm\"", 16,
        "\"0.3mm\" for \"lash\"", "a group in braces, as in {\"measured\": \".004in\"}, would do"},
    {"\"lash\": {\n    \"measured\": \"0.3mm\"\n  }", "\"lash\":\n\n[{}]", 18,
        "a list [ ] for \"lash\"", "a group in braces"},
    {"\"lash\": {\n    \"measured\": \"0.3mm\"\n  }", "\"lash\": null", 16, "null for \"lash\"",
        "a group in braces"},

    /* The wrong type for each kind. The line is that of the value, not of its key. */
    {"\"2mm\"", "2", 3, "2 for \"lead\" in \"screw\"", RANGE_LEAD},
    {"\"2mm\"", "\n\n2", 5, "2 for \"lead\" in \"screw\"", RANGE_LEAD},
    {"400", "\"200\"", 4, "\"200\" for \"full_steps\"", FULL},
    {"400", "[200]", 4, "a list [ ] for \"full_steps\"", FULL},
    {"400", "true", 4, "true for \"full_steps\"", FULL},
    {"4\n", "\"8\"\n", 5, "\"8\" for \"microsteps\"", PARTS},
    {"\"3in\"", "{\"in\": 3}", 8, "a group { } for \"length\"", RANGE_TRAVEL},
    {"\"3in\"", "null", 8, "null for \"length\"", RANGE_TRAVEL},
    {"\"10mm/s\"", "10", 12, "10 for \"move\"", ANY_SPEED},
    {"\"125mm/s2\"", "false", 14, "false for \"brake\"", ANY_BRAKE},
    {"\"0.3mm\"", "0", 17, "0 for \"measured\"", RANGE_LASH},
    {"\"active-low\"", "true", 20, "true for \"top_switch\"", WIRED},
    {"\"active-high\"", "1", 21, "1 for \"stop_circuit\"", WIRED},
    {"\"active-high\"", "\"Active-high\"", 21, "\"Active-high\"", WIRED},
    {"\"absent\"", "\"\"", 22, "\"\" for \"motor_supply\"", WIRED},
    {"\"debounce_ms\": 5", "\"debounce_ms\": \"5ms\"", 23, "\"5ms\" for \"debounce_ms\"",
        "a whole number from 0 to 50, without quotes, would do"},
    {"\"/dev/serial/by-id/board\"", "4", 26, "4 for \"port\"", PATH},
    {"115200", "\"115200\"", 27, "\"115200\" for \"baud\"", BAUDS},
    {"\"/var/lib/reglet\"", "null", 31, "null for \"state\"", PATH},

    /* Lengths that cannot be read. */
    {"\"3in\"", "\"3\"", 8, "\"3\" for \"length\" in \"travel\" (3 of what? write 3in or 3mm)",
        RANGE_TRAVEL},
    {"\"1/16in\"", "\"1/16\"", 9, "1/16 of what? write 1/16in", RANGE_MARGIN},
    {"\"1/16in\"", "\"0\"", 9, "0 of what?", RANGE_MARGIN},
    {"\"1/16in\"", "\"1/16mm\"", 9, "a fraction is inches, always",
        "a length from 0mm to 25.4mm, in quotes and with its unit"},
    {"\"2mm\"", "\"2,5mm\"", 3, "expected a point, not a comma",
        "a length from 0.318mm to 25.4mm"},
    {"\"2mm\"", "\"2.5\xc2\xb5m\"", 3, "\"2.5??m\" for \"lead\"", RANGE_LEAD},
    {"\"2mm\"", "\"2 cm\"", 3, "expected the unit in, \" or mm", RANGE_LEAD},
    {"\"2mm\"", "\"1/0in\"", 3, "expected a denominator above zero", RANGE_LEAD},
    {"\"2mm\"", "\"\"", 3, "\"\" for \"lead\" in \"screw\" (expected a length", RANGE_LEAD},
    {"\"2mm\"", "\"2mm/s\"", 3, "\"2mm/s\" for \"lead\"", "from 0.318mm to 25.4mm"},
    {"\"2mm\"", "\"" FIFTY TEN TEN "mm\"", 3, "\"" TEN TEN TEN TEN "123...\" for \"lead\"",
        "from 0.318mm"},
    {"\"2mm\"", "\"99999999in\"", 3, "expected at most 10 m", RANGE_LEAD},

    /* Speeds that cannot be read. */
    {"\"10mm/s\"", "\"10mm\"", 12, "\"10mm\" for \"move\"", ANY_SPEED},
    {"\"10mm/s\"", "\"600mm/min\"", 12, "\"600mm/min\" for \"move\"", ANY_SPEED},
    {"\"10mm/s\"", "\"10mm/s2\"", 12, "\"10mm/s2\" for \"move\"", ANY_SPEED},
    {"\"10mm/s\"", "\"10/s\"", 12, "10 of what?", ANY_SPEED},
    {"\"10mm/s\"", "\"1/4/s\"", 12, "1/4 of what? write 1/4in", ANY_SPEED},
    {"\"10mm/s\"", "\"/s\"", 12, "expected a length", ANY_SPEED},
    {"\"10mm/s\"", "\"s\"", 12, "\"s\" for \"move\"", ANY_SPEED},
    {"\"125mm/s2\"", "\"125mm/s^2\"", 14, "\"125mm/s^2\" for \"brake\"", ANY_BRAKE},
    {"\"125mm/s2\"", "\"125mm/s\xc2\xb2\"", 14, "\"125mm/s??\" for \"brake\"", ANY_BRAKE},
    {"\"125mm/s2\"", "\"125mm/s/s\"", 14, "\"125mm/s/s\" for \"brake\"", ANY_BRAKE},
    {"\"125mm/s2\"", "\"125mm/s\"", 14, "\"125mm/s\" for \"brake\"", ANY_BRAKE},

    /* Zero, negative, too small, too big. */
    {"\"2mm\"", "\"0mm\"", 3, "\"0mm\" for \"lead\"", "from 0.318mm to 25.4mm"},
    {"\"2mm\"", "\"-2mm\"", 3, "\"-2mm\" for \"lead\"", "from 0.318mm to 25.4mm"},
    {"\"2mm\"", "\"0.317499mm\"", 3, "\"0.317499mm\"", "from 0.318mm to 25.4mm"},
    {"\"2mm\"", "\"25.400001mm\"", 3, "\"25.400001mm\"", "from 0.318mm to 25.4mm"},
    {"400", "0", 4, "0 for \"full_steps\"", FULL},
    {"400", "19", 4, "19 for \"full_steps\"", FULL},
    {"400", "1001", 4, "1001 for \"full_steps\"", FULL},
    {"400", "-200", 4, "-200 for \"full_steps\"", FULL},
    {"400", "200.5", 4, "200.5 for \"full_steps\"", FULL},
    {"400", "9007199254740991", 4, "9007199254740991 for \"full_steps\"", FULL},
    {"400", "1e16", 4, "a number beyond 9007199254740991", ""},
    {"4\n", "0\n", 5, "0 for \"microsteps\"", PARTS},
    {"4\n", "3\n", 5, "3 for \"microsteps\"", PARTS},
    {"4\n", "512\n", 5, "512 for \"microsteps\"", PARTS},
    {"4\n", "-8\n", 5, "-8 for \"microsteps\"", PARTS},
    {"4\n", "8.5\n", 5, "8.5 for \"microsteps\"", PARTS},
    {"\"3in\"", "\"0in\"", 8, "\"0in\" for \"length\"", RANGE_TRAVEL},
    {"\"3in\"", "\".999in\"", 8, "\".999in\" for \"length\"", RANGE_TRAVEL},
    {"\"3in\"", "\"20-1/64in\"", 8, "\"20-1/64in\" for \"length\"", RANGE_TRAVEL},
    {"\"3in\"", "\"-3in\"", 8, "\"-3in\" for \"length\"", RANGE_TRAVEL},
    {"\"1/16in\"", "\"-.001in\"", 9, "\"-.001in\" for \"top_margin\"", RANGE_MARGIN},
    {"\"1/16in\"", "\"1.001in\"", 9, "\"1.001in\" for \"top_margin\"", RANGE_MARGIN},
    {"\"0.3mm\"", "\"-0.3mm\"", 17, "\"-0.3mm\" for \"measured\"", "from 0mm to 3.175mm"},
    {"\"0.3mm\"", "\".126in\"", 17, "\".126in\" for \"measured\"", RANGE_LASH},
    {"\"debounce_ms\": 5", "\"debounce_ms\": 51", 23, "51 for", "a whole number from 0 to 50"},
    {"\"debounce_ms\": 5", "\"debounce_ms\": -1", 23, "-1 for", "a whole number from 0 to 50"},
    {"115200", "9600", 27, "9600 for \"baud\"", BAUDS},
    {"115200", "0", 27, "0 for \"baud\"", BAUDS},
    {"115200", "-115200", 27, "-115200 for \"baud\"", BAUDS},
    {": 100\n", ": 0\n", 28, "0 for \"silence_ms\"", "a whole number from 50 to 1000"},
    {": 100\n", ": 49\n", 28, "49 for \"silence_ms\"", "a whole number from 50 to 1000"},
    {": 100\n", ": 1001\n", 28, "1001 for \"silence_ms\"", "a whole number from 50 to 1000"},

    /* Speeds that the generator cannot make with this screw. */
    {"\"10mm/s\"", "\"0mm/s\"", 12, "\"0mm/s\" for \"move\"",
        "a speed from 0.002mm/s to 75mm/s would do"},
    {"\"10mm/s\"", "\"-10mm/s\"", 12, "\"-10mm/s\"", "a speed from 0.002mm/s to 75mm/s would do"},
    {"\"10mm/s\"", "\"0.001mm/s\"", 12, "\"move\" in \"speeds\", 0.800 steps/s with this screw",
        "a speed from 0.002mm/s to 75mm/s would do"},
    {"\"10mm/s\"", "\"75.000001mm/s\"", 12, "60000 steps/s with this screw",
        "a speed from 0.002mm/s to 75mm/s would do"},
    {"\"10mm/s\"", "\"3in/s\"", 12, "\"3in/s\" for \"move\" in \"speeds\", 60960 steps/s",
        "a speed from .0001in/s to 2.9527in/s would do"},
    {"\"1mm/s\"", "\"100mm/s\"", 13, "\"100mm/s\" for \"search\" in \"speeds\", 80000 steps/s",
        "a speed from 0.002mm/s to 75mm/s would do"},
    {"\"1mm/s\"", "\"0in/s\"", 13, "\"0in/s\"", "from .0001in/s to 2.9527in/s would do"},
    {"\"1mm/s\"", "\"10.001mm/s\"", 13, "\"search\" in \"speeds\", faster than \"move\"",
        "a speed from 0.002mm/s to 10mm/s would do"},
    {"\"1mm/s\"", "\"1in/s\"", 13, "faster than \"move\"", "from .0001in/s to .3937in/s would do"},
    {"\"1mm/s\"", "\"1mm/s\", \"hold_slow\": \"11mm/s\"", 13,
        "\"hold_slow\" in \"speeds\", faster than \"move\"", "to 10mm/s would do"},
    {"\"1mm/s\"", "\"1mm/s\", \"hold_fast\": \"11mm/s\"", 13,
        "\"hold_fast\" in \"speeds\", faster than \"move\"", "to 10mm/s would do"},
    {"\"1mm/s\"", "\"1mm/s\", \"hold_slow\": \"3mm/s\", \"hold_fast\": \"2mm/s\"", 13,
        "\"hold_slow\" in \"speeds\", faster than \"hold_fast\"", "to 2mm/s would do"},
    /* 8000 steps/s: by the equation of motion v^2 = 2as, 65 535 steps at 488.29 steps/s^2. */
    {"\"125mm/s2\"", "\"0.61mm/s2\"", 14, "from which \"move\" takes too long to stop",
        "an acceleration from 0.611mm/s2 to 5000mm/s2 would do"},
    {"\"125mm/s2\"", "\"0mm/s2\"", 14, "\"0mm/s2\" for \"brake\"",
        "an acceleration from 0.003mm/s2 to 5000mm/s2 would do"},
    {"\"125mm/s2\"", "\"-1in/s2\"", 14, "\"-1in/s2\"",
        "an acceleration from .0001in/s2 to 196.8503in/s2 would do"},
    {"\"125mm/s2\"", "\"5000.1mm/s2\"", 14, "4000080 steps/s2 with this screw",
        "an acceleration from 0.003mm/s2 to 5000mm/s2 would do"},
    {"\"125mm/s2\"", "\"0.002mm/s2\"", 14, "2 steps/s2 with this screw", "from 0.003mm/s2"},
    {"\"125mm/s2\"", "\"11000mm/s2\"", 14, "expected at most 10 m", ANY_BRAKE},

    {"\"1/16in\"", "\"1/16in\", \"change\": \"1/32in\"", 9, "\"change\" in \"travel\", outside of",
        "a length from 1/16in to 3in would do"},
    {"\"absent\"", "\"absent\", \"router\": \"on\"", 22, "\"on\" for \"router\"", WIRED},
    {"\"lash\": {", "\"router\": {\"while_running\": \"always\"}, \"lash\": {", 16,
        "\"always\" for \"while_running\"", "\"never\", \"between-cuts\" or \"plunge\" would do"},
    {"\"lash\": {", "\"router\": {\"run_down_s\": 0}, \"lash\": {", 16, "0 for \"run_down_s\"",
        "a whole number from 1 to 120"},
    {"\"lash\": {", "\"touch_plate\": {\"spread\": \"1in\"}, \"lash\": {", 16,
        "\"1in\" for \"spread\"", "a length from 0in to 1/32in"},

    {"\"lash\": {", "\"outputs\": {\"dust\": \"output-3\"}, \"lash\": {", 16,
        "\"output-3\" for \"dust\"", "\"absent\", \"output-1\" or \"output-2\" would do"},
    {"\"lash\": {", "\"outputs\": {\"lock_wait_ms\": 99}, \"lash\": {", 16,
        "99 for \"lock_wait_ms\"", "a whole number from 100 to 5000"},

    {"\"lash\": {", "\"readout\": {\"two_wire\": \"yes\"}, \"lash\": {", 16,
        "\"yes\" for \"two_wire\"", "\"absent\", \"rising\" or \"falling\" would do"},

    /* What does not go together. */
    {"\"lash\": {",
        "\"outputs\": {\"dust\": \"output-2\", \"carriage_lock\": \"output-2\"}, \"lash\": {", 16,
        "\"output-2\" for \"carriage_lock\" in \"outputs\", which switches \"dust\" too",
        "the other output, or \"absent\" would do"},
    /* A full step of this screw is .005mm. */
    {"\"lash\": {", "\"readout\": {\"two_wire\": \"rising\"}, \"lash\": {", 16,
        "too coarse to tell a slip", "a resolution of at most"},
    {"\"lash\": {", "\"readout\": {\"two_wire\": \"rising\", \"resolution\": \"0.005mm\", "
        "\"tolerance\": \"0.004mm\"}, \"lash\": {", 16, "finer than the readout counts",
        "a length from 0.005mm to 0.009mm"},
    {"\"lash\": {", "\"readout\": {\"two_wire\": \"falling\", \"resolution\": \"0.005mm\", "
        "\"tolerance\": \"0.01mm\"}, \"lash\": {", 16, "from which a slip could not be told",
        "a length from 0.005mm to 0.009mm"},
    {"\"2mm\",", "\"2mm\", \"threads_per_inch\": 10,", 3,
        "both \"lead\" and \"threads_per_inch\" in \"screw\"", "one of them would do"},
    {"\"lead\": \"2mm\",", "\"threads_per_inch\": 10,\n\"lead\": \"2mm\",", 4,
        "both \"lead\" and \"threads_per_inch\"", "one of them would do"},
    {"\"lead\": \"2mm\"", "\"threads_per_inch\": 81", 3, "81 for \"threads_per_inch\"",
        "a whole number from 1 to 80, without quotes, would do"},
    {"\"lead\": \"2mm\"", "\"threads_per_inch\": 0", 3, "0 for \"threads_per_inch\"",
        "a whole number from 1 to 80"},
    {"\"lead\": \"2mm\"", "\"threads_per_inch\": 10.5", 3, "10.5 for", "from 1 to 80"},
    {"\"3in\",\n    \"top_margin\": \"1/16in\"", "\"1-1/2in\",\n    \"top_margin\": \"1in\"", 9,
        "\"1in\" for \"top_margin\" in \"travel\", more than half of the travel",
        "a length of at most 3/4in would do"},
    {"\"3in\",\n    \"top_margin\": \"1/16in\"", "\"30mm\",\n    \"top_margin\": \"15.001mm\"", 9,
        "more than half of the travel", "a length of at most 15mm would do"},

    /* Paths. */
    {"/dev/serial/by-id/board", "dev/serial/by-id/board", 26,
        "\"dev/serial/by-id/board\" for \"port\"", PATH},
    {"/dev/serial/by-id/board", "", 26, "\"\" for \"port\"", PATH},
    {"/dev/serial/by-id/board", "/", 26, "\"/\" for \"port\"", PATH},
    {"/dev/serial/by-id/board", "/dev/serial/", 26, "\"/dev/serial/\" for \"port\"", PATH},
    {"/dev/serial/by-id/board", "/" FIFTY FIFTY FIFTY FIFTY, 26, ", 201 bytes", PATH},
    {"/dev/serial/by-id/board", "/dev/tty\\n", 26, "with a control character in it", PATH},
    {"/dev/serial/by-id/board", "/dev/tty\\u007f", 26, "with a control character in it", PATH},
    {"/var/lib/reglet", "~/reglet", 31, "\"~/reglet\" for \"state\"", PATH},
    {"/run/reglet/reglet.sock", "/" FIFTY TEN TEN TEN TEN "123456789", 32,
        "\"socket\" in \"folders\", 100 bytes", "at most 99 bytes long"},

    /* Grammar: protocol/json.h finds these; here it is the place that counts. */
    {"\"full_steps\": 400", "\"lead\": \"3mm\"", 4, "the name \"lead\" a second time",
        "use it once"},
    {"\"full_steps\": 400", "\"le\\u0061d\": \"3mm\"", 4, "a second time", "use it once"},
    {"\"travel\": {", "\"screw\": {", 7, "the name \"screw\" a second time", "use it once"},
    {"\"microsteps\": 4\n", "\"microsteps\": 4,\n", 5, "a comma before }", "take it away"},
    {"  }\n}\n", "  },\n}\n", 33, "a comma before }", "take it away"},
    {"400,", "400", 5, "'\"' where , or } is wanted", ""},
    {"\"2mm\"", "\"2mm", 3, "the end of the line in a string", "close it with \""},
    {"\"2mm\"", "2mm", 3, "'m' where , or } is wanted", ""},
    {"\"2mm\"", "'2mm'", 3, "''' where a value is wanted", ""},
    {"\"lead\"", "lead", 3, "'l' where a name in double quotes is wanted", ""},
    {"400", "0200", 4, "a number that begins with 0", "take the zero away"},
    {"400", ".5", 4, "'.' where a value is wanted", ""},
    {"// blue cable", "/* blue cable */", 26, "a comment that begins with /*", "// to the end"},
    {"// blue cable", "# blue cable", 26, "a comment that begins with #", "// to the end"},
    {"// blue cable", "/ blue cable", 26, "'/' where a name", ""},
    {"  }\n}\n", "  }\n", 34, "the end of the text where , or } is wanted", ""},
    {"  }\n}\n", "  }\n}\n// end\n}\n", 36, "'}' behind the end of the value", ""},
    {"400", "[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]", 4, "brackets 17 deep", "at most 16"},
    {"400", "[[[[[[[[[[[[[[]]]]]]]]]]]]]]", 4, "a list [ ] for \"full_steps\"", FULL},
    {"2mm", "2\tmm", 3, "control byte 0x09 in a string", "write it as an escape"},
    {"2mm", "2\xff" "mm", 3, "byte 0xff that begins no UTF-8 character", "must be UTF-8"},
    {"2mm", "2\\u0000mm", 3, "found \\u0000", "no string here can hold a NUL"},
};

#define TEXT(literal, line, found, wanted) {literal, sizeof(literal) - 1, line, found, wanted}
#define BRACES "groups in braces { }, as in the annotated example reglet.json, would do"

static const struct text texts[] = {
    TEXT("", 0, "no settings in it", EXAMPLE),
    TEXT(" \t\r\n\n", 0, "no settings in it", EXAMPLE),
    TEXT("// later\n// more\n", 0, "no settings in it", EXAMPLE),
    TEXT("// no line end", 0, "no settings in it", EXAMPLE),
    TEXT("{}", 0, "no \"screw\"", "\"screw\": {\"threads_per_inch\": 16, \"full_steps\": 200, "
         "\"microsteps\": 8} would do"),
    TEXT("\n\n[]", 3, "a list [ ] as the whole", BRACES),
    TEXT("\n\"reglet\" // so\n", 2, "\"reglet\"", BRACES),
    TEXT("12", 1, "12 as the whole", BRACES),
    TEXT("null", 1, "null as the whole", BRACES),
    TEXT("\xef\xbb\xbf{}", 1, "a byte-order mark", "save the text as UTF-8 without one"),
    TEXT("{\n\0}", 2, "a NUL byte", "plain text, saved as UTF-8, would do"),
    TEXT("// note \0\n{}", 1, "a NUL byte", "plain text"),
    TEXT("\xff\xfe{\0}\0", 1, "a NUL byte", "plain text, saved as UTF-8"),
    TEXT("{\"screw\": {\"lead\": \"2mm\", \"full_steps\": 200, \"microsteps\": 8}}", 0,
         "no \"travel\"", "\"travel\": {\"length\": \"3in\", \"top_margin\": \"1/16in\"} would do"),
    TEXT("{\"screw\": {}, \"travel\": {}, \"link\": {}}", 0, "no \"speeds\"",
         "\"speeds\": {\"move\""),
    TEXT("{\"screw\": {}, \"travel\": {}, \"speeds\": {}}", 0, "no \"link\"",
         "\"link\": {\"port\""),
    TEXT("{\n\"screw\": {},\n\"travel\": {},\n\"speeds\": {},\n\"link\": {}}", 2,
         "no \"full_steps\" in \"screw\"", FULL),
    /* 60 000 steps/s would be 76 m/s; lengths end at 10 m. */
    TEXT("{\"screw\": {\"lead\": \"1in\", \"full_steps\": 20, \"microsteps\": 1}, \"travel\": {"
         "\"length\": \"3in\", \"top_margin\": \"0in\"}, \"link\": {\"port\": \"/x\"}, "
         "\"speeds\": {\"search\": \"2mm/s\", \"brake\": \"1in/s2\",\n\"move\": \"1mm/s\"}}", 2,
         "0.787 steps/s", "a speed from 1.27mm/s to 10000mm/s would do"),
    TEXT("{", 1, "the end of the text", ""),
    TEXT("{\"screw", 1, "the end of the text in a string", "close it with \""),
    TEXT("{\n/* never closed", 2, "a comment that begins with /*", "// to the end of its line"),
};
/* clang-format on */

static const char file_name[] = "shop/lift.json";

static bool read_text(const char *text, size_t size, struct config *config,
                      struct config_fault *fault)
{
    return read_config(text, size, file_name, config, fault);
}

START_TEST(the_good_one_is_read)
{
    struct config config;
    struct config_fault fault;
    if (!read_text(good, sizeof good - 1, &config, &fault)) {
        ck_abort_msg("%s", fault.text);
    }
    ck_assert_uint_eq(fault.line, 4711); /* untouched */
    ck_assert_str_eq(fault.text, "");
}
END_TEST

START_TEST(what_is_spoiled_is_refused)
{
    for (size_t i = 0; i < sizeof spoiled / sizeof spoiled[0]; i++) {
        const struct spoiled *c = &spoiled[i];
        struct config config;
        struct config_fault fault;
        char *text = spoil(c->was, c->is);
        if (read_text(text, strlen(text), &config, &fault)) {
            ck_abort_msg("'%s' for '%s' was read", c->is, c->was);
        }
        expect_fault(&fault, file_name, c->line, c->found, c->wanted, c->is);
        free(text);
    }
}
END_TEST

START_TEST(what_is_no_configuration_is_refused)
{
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        const struct text *c = &texts[i];
        struct config config;
        struct config_fault fault;
        if (read_text(c->text, c->size, &config, &fault)) {
            ck_abort_msg("'%s' was read", c->text);
        }
        expect_fault(&fault, file_name, c->line, c->found, c->wanted, c->text);
    }
}
END_TEST

/* The limits themselves, and other spellings. */
/* clang-format off */
static const char *const allowed[][2] = {
    {"\"2mm\"", "\"0.3175mm\""}, {"\"2mm\"", "\"25.4mm\""}, {"\"2mm\"", "\"1in\""},
    {"\"lead\": \"2mm\"", "\"threads_per_inch\": 80"},
    {"\"lead\": \"2mm\"", "\"threads_per_inch\": 1"}, {"400", "20"}, {"400", "1000"},
    {"400", "2e2"}, {"4\n", "1\n"}, {"4\n", "8.0\n"}, {"\"3in\"", "\"1in\""},
    {"\"3in\"", "\"20in\""}, {"\"1/16in\"", "\"0in\""}, {"\"1/16in\"", "\"1in\""},
    {"\"10mm/s\"", "\"75mm/s\""}, {"\"10mm/s\"", "\"2.9527in/s\""},
    {"\"10mm/s\"", "\"1mm/s\""}, {"\"10mm/s\"", "\" 10 mm /s\""},
    {"\"1mm/s\"", "\"0.00125mm/s\""}, {"\"1mm/s\"", "\"10mm/s\""},
    {"\"125mm/s2\"", "\"0.611mm/s2\""}, {"\"125mm/s2\"", "\"5000mm/s2\""},
    {"\"1mm/s\"", "\"1mm/s\", \"hold_slow\": \"1mm/s\", \"hold_fast\": \"10mm/s\""},
    {"\"0.3mm\"", "\"0mm\""}, {"\"0.3mm\"", "\"1/8in\""},
    {"\"debounce_ms\": 5", "\"debounce_ms\": 0"},
    {"\"debounce_ms\": 5", "\"debounce_ms\": 50"}, {"115200", "250000"},
    {": 100\n", ": 50\n"}, {": 100\n", ": 1000\n"}, {"/dev/serial/by-id/board", "/x"},
    {"/dev/serial/by-id/board", "/" FIFTY FIFTY FIFTY TEN TEN TEN TEN "12345678"},
    {"/run/reglet/reglet.sock", "/" FIFTY TEN TEN TEN TEN "12345678"},
};
/* clang-format on */

/* Else the cases above would prove little. */
START_TEST(limits_are_allowed)
{
    for (size_t i = 0; i < sizeof allowed / sizeof allowed[0]; i++) {
        struct config config;
        struct config_fault fault;
        char *text = spoil(allowed[i][0], allowed[i][1]);
        if (!read_text(text, strlen(text), &config, &fault)) {
            ck_abort_msg("%s", fault.text);
        }
        free(text);
    }
}
END_TEST

/* However long the name, the rest of the sentence is all there. */
START_TEST(a_long_name)
{
    char name[600];
    char expected[160];
    struct config config;
    struct config_fault fault;
    memset(name, 'x', sizeof name - 1);
    name[sizeof name - 1] = '\0';
    memcpy(name + sizeof name - 13, "\x1b/lift.json\n", 13); /* nothing that a terminal obeys */
    (void)snprintf(expected, sizeof expected, "...%.84s?/lift.json?", name);
    char *text = spoil("\"1/16in\"", "\"1/16mm to the top and a little more\"");
    ck_assert(!config_read(text, strlen(text), name, &config, &fault));
    expect_fault(&fault, expected, 9, "\"1/16mm to the top and a little more\" for \"top_margin\"",
                 "from 0mm to 25.4mm, in quotes and with its unit as in \"1/16in\", would do",
                 name);
    free(text);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("config: what is wrong");
    TCase *all = tcase_create("refused");
    tcase_add_test(all, the_good_one_is_read);
    tcase_add_test(all, what_is_spoiled_is_refused);
    tcase_add_test(all, what_is_no_configuration_is_refused);
    tcase_add_test(all, limits_are_allowed);
    tcase_add_test(all, a_long_name);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
