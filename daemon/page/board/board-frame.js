// What both pages of the board share: the head with the language, and times that count on.
import { el } from './dom.js';
import { languageButtons } from './languages.js';
import { duration, t } from './words.js';

// A button for each language; `changed` draws the page anew.
export function languages(changed) {
  const label = { class: 'languages', role: 'group', 'aria-label': t('board.language') };
  return el('div', label, languageButtons(changed));
}

// How long ago an instant was, counting on; `ago(ms)` may say it within a sentence.
export function counting(at, word, values = {}) {
  const node = el('span', { class: 'counting', 'data-at': Number.isFinite(at) ? at : '' });
  if (word) node.dataset.word = word;
  node.values = values;
  count(node, Date.now());
  return node;
}

function count(node, now) {
  const at = node.dataset.at === '' ? NaN : Number(node.dataset.at);
  const age = duration(Number.isNaN(at) ? null : (now - at) / 1000);
  const text = node.dataset.word ? t(node.dataset.word, { ...node.values, age }) : age;
  if (node.textContent !== text) node.textContent = text;
}

// Lets every such time of the page count on. `now` is the daemon's, as far as it is known.
export function countAll(root, now) {
  for (const node of root.querySelectorAll('.counting')) count(node, now);
}

// A figure with its words, for the counts at the top.
export const figureBox = (kind, value, word, more) =>
  el(
    'li',
    { class: `figure figure-${kind}${value ? '' : ' figure-zero'}` },
    el('b', {}, String(value)),
    ' ',
    el('span', {}, word, more ? el('small', {}, ' ', more) : null),
  );
