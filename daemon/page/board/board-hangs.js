// What hangs at the site's positions, with how old it is: first what is overdue or wears out too fast.
import { el } from './dom.js';
import { hangsOf } from './hangs.js';
import { positionTitle } from './refusals.js';
import { t } from './words.js';

function positionOf(board, told) {
  const parts = hangsOf(told, Date.now() - board.skew, board.zone);
  return { title: positionTitle(board.equipment, told.position), parts, bad: parts.some((p) => p.bad) };
}

const row = ({ title, parts }) =>
  el(
    'li',
    {},
    el('b', {}, title),
    ': ',
    parts.flatMap(({ text, bad }, i) => [i > 0 && '; ', bad ? el('strong', {}, text) : text]),
  );

// Nothing where nothing is known to hang.
export function hangs(board) {
  const all = Object.values(board.state.positions)
    .filter((told) => told.hangs)
    .map((told) => positionOf(board, told))
    .sort((a, b) => b.bad - a.bad);
  return (
    all.length > 0 &&
    el(
      'section',
      { class: 'notices hanging', 'aria-labelledby': 'hangs' },
      el('h2', { id: 'hangs', tabindex: '-1' }, t('hangs.title')),
      el('ul', {}, all.map(row)),
    )
  );
}
