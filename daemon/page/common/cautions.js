// What needs a person's eye though it was judged, in the language of the page.
import './test-words.js';
import { shown } from './numbers.js';
import { hasWord, t } from './words.js';

// One sentence for each: of its name and figures where the page has words for it, else as the daemon
// words it.
export const cautionSentences = (result) =>
  (result?.cautions ?? []).map((text, i) => {
    const { say, ...figures } = result.caution_args?.[i] ?? {};
    if (!say || !hasWord(`cautions.${say}`)) return text;
    const values = Object.fromEntries(Object.entries(figures).map(([name, x]) => [name, shown(x)]));
    return t(`cautions.${say}`, values);
  });
