// Facts as plain sentences.
#pragma once

#include "gate/fact.h"
#include "tool/text.h"

// What happened, by whom, as one sentence without its end.
void tool_fact_headline(struct tool_text *text, const struct gate_fact *fact);
// The points a decision stood on: "3-power isolated, fresh, heard 0.4 s before; …". Ages count to
// the fact's own instant.
void tool_fact_evidence(struct tool_text *text, const struct gate_fact *fact);
// One reason of a refusal: its sentence, then code, subject, need, found and age.
void tool_fact_refusal(struct tool_text *text, const struct gate_refusal *refusal);
// A computed test: formula, readings, value, limit, margin, source.
void tool_fact_result(struct tool_text *text, const struct model_result *result);
// Whether a fact is about a job: its own, or a word that was said for it.
bool tool_fact_names_job(const struct gate_fact *fact, const char *job);
