// The daemon: hears, lets the gate decide, records, tells.
#pragma once

// forelockd -c FILE [-t]; --version; --help. Returns the exit status: 0 ended in good order (or a
// checked configuration), 1 the daemon could not go on, 2 usage, 3 configuration, 4 something it
// needs cannot be reached or read (the journal, the loop).
int serve_main(int argc, char **argv);
