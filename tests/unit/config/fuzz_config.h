// The fuzz entry, and what the replay of its corpus calls.
#pragma once

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
