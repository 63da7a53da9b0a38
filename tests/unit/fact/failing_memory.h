// Memory that fails when a test says so. Whoever links the library has its malloc, calloc and
// realloc counted.
#pragma once

// Allocations that still succeed; -1: as many as you like.
extern long failing_memory_left;
