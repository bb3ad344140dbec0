/* SPDX-License-Identifier: MIT */
/* Where there is no answer: what to tell the operator. */
#include <errno.h>
#include <string.h>

#include "clients/common/client.h"

static const char words_brakes[] =
    "A lift that is left alone brakes by itself, but do not rely on it: keep clear of the bit, "
    "and if it still moves, open the stop circuit or cut the motor's supply. Then look where the "
    "bit stands, and ask with a bare 'reglet' once regletd runs.";

static const char words_see[] =
    "Whether it was done is not known; the lift does not move by it. Once regletd runs, a bare "
    "'reglet' says where the bit is, and 'reglet presets' what is kept; if it was not done, say "
    "it again.";

static const char *after_asking(const struct client_trouble *trouble, const char *nothing)
{
    return trouble->asked == CLIENT_ASKED_MOTION   ? words_brakes
           : trouble->asked == CLIENT_ASKED_CHANGE ? words_see
                                                   : nothing;
}

static void say_start(struct say *say, bool practice)
{
    if (practice) {
        say_wrap(say, "", 0, "%s",
                 "Start the practice lift with 'regletd --practice' and leave it running; it "
                 "needs no machine. Then ask again.");
    } else {
        say_wrap(say, "", 0, "%s",
                 "Start the daemon with 'regletd', and ask again. To try things out without a "
                 "machine, start 'regletd --practice' and say 'reglet --practice'.");
    }
}

static void say_absent(struct say *say, const struct client_trouble *trouble)
{
    if (trouble->error == EACCES || trouble->error == EPERM) {
        say_wrap(say, "", 0,
                 "You may not open %s, so nothing was asked of the lift and nothing has moved. "
                 "Ask as a user who may, or see to the rights of that path.",
                 trouble->path);
        return;
    }
    if (trouble->error == ENAMETOOLONG) {
        say_wrap(say, "", 0,
                 "%s is too long for a socket's name, so nothing was asked of the lift. Give a "
                 "shorter path.",
                 trouble->path);
        return;
    }
    say_wrap(say, "", 0,
             "Nothing answers at %s: %s. Nothing was asked of a lift, and nothing has moved.",
             trouble->path,
             trouble->error == ENOENT         ? "there is no such socket"
             : trouble->error == ECONNREFUSED ? "the daemon that listened there has ended"
                                              : strerror(trouble->error));
    say_start(say, trouble->practice);
}

static void say_silent(struct say *say, const struct client_trouble *trouble)
{
    say_wrap(say, "", 0, "regletd at %s has not answered for %d seconds. %s", trouble->path,
             CLIENT_WAIT_MS / 1000,
             after_asking(trouble, "Nothing was asked of the lift. See what regletd does (its "
                                   "log), end it if it hangs, and start it again."));
}

static void say_closed(struct say *say, const struct client_trouble *trouble)
{
    say_wrap(say, "", 0, "The connection to regletd at %s ended before the answer came%s%s. %s",
             trouble->path, trouble->error ? ": " : "",
             trouble->error ? strerror(trouble->error) : "",
             after_asking(trouble, "Nothing was asked of the lift. Either regletd has ended, or "
                                   "it has as many clients as it takes: see its log, and ask "
                                   "again."));
}

static void say_interrupted(struct say *say, const struct client_trouble *trouble)
{
    if (trouble->asked == CLIENT_ASKED_MOTION) {
        say_wrap(say, "", 0, "%s",
                 "Interrupted before the answer came: whether it was done is not known. Ask with "
                 "a bare 'reglet'.");
    } else if (trouble->asked == CLIENT_ASKED_CHANGE) {
        say_wrap(say, "", 0, "Interrupted before the answer came. %s", words_see);
    } else {
        say_wrap(say, "", 0, "%s", "Interrupted before anything was asked of the lift.");
    }
}

void client_say_trouble(struct say *say, const struct client_trouble *trouble)
{
    switch (trouble->end) {
    case CLIENT_ABSENT:
        say_absent(say, trouble);
        break;
    case CLIENT_SILENT:
        say_silent(say, trouble);
        break;
    case CLIENT_CLOSED:
        say_closed(say, trouble);
        break;
    case CLIENT_GARBLED:
        say_wrap(say, "", 0, "What answers at %s does not speak as regletd does. %s", trouble->path,
                 after_asking(trouble, "Nothing was asked of a lift. See which program listens "
                                       "there, or name regletd's own socket with --socket."));
        break;
    case CLIENT_INTERRUPTED:
        say_interrupted(say, trouble);
        break;
    case CLIENT_NO_MEMORY:
        say_wrap(say, "", 0, "There is not enough memory to talk to regletd. %s",
                 after_asking(trouble, "Nothing was asked of the lift."));
        break;
    case CLIENT_ANSWERED:
    case CLIENT_TOLD:
        break;
    }
}
