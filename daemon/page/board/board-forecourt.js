// The forecourt as it stands: a cabinet for each dispenser, its positions side by side and below
// them the devices that isolate it; and what somebody should see to.
import { counting } from './board-frame.js';
import { cabinetsOf, viewOf } from './board-state.js';
import { el } from './dom.js';
import { personTitle, pointTitle } from './refusals.js';
import { sign } from './signs.js';
import { duration, hasWord, t } from './words.js';

const UNWATCHED = ['silent', 'stale', 'controller-offline', 'bad-quality'];

// --- Positions ---

function why(view) {
  if (view.kind !== 'unknown' || !view.verdict.why) return null;
  const word = `alarm.${view.verdict.why}`;
  return hasWord(word)
    ? el('span', { class: 'tile-why' }, t('yard.blind', { why: t(word) }))
    : null;
}

function tile(board, { position, title }) {
  const view = viewOf(board.state, position);
  const out = view.told && view.told.service !== 'in-service';
  return el(
    'li',
    { class: `tile tile-${view.kind}`, 'data-position': position, 'data-kind': view.kind },
    el(
      'a',
      {
        href: `/at/${encodeURIComponent(board.site)}/${encodeURIComponent(position)}`,
        title,
        'data-key': `tile ${position}`,
      },
      sign(view.sign),
      el('span', { class: 'id' }, position),
      el('span', { class: 'word' }, t(`kind.${view.kind}`)),
      out
        ? el('span', { class: 'tile-age' }, counting(Date.parse(view.told.since) - board.skew))
        : null,
      why(view),
    ),
  );
}

// --- Points ---

export const isUnwatched = (point) => point?.state === 'unknown' && UNWATCHED.includes(point.trust);

function locks(point) {
  const n = point.tags.length;
  return n ? el('span', { class: 'locks' }, n === 1 ? t('yard.tag') : t('yard.tags', { n })) : null;
}

// Its age counts from the pulse on, as the daemon's own figure says it.
export function heardWord(board, id) {
  const age = board.live.age(id);
  return age === null ? t('trust.silent') : t('yard.heard', { age: duration(age) });
}

// What needs no second line is said in one: a point that is heard, or was looked at.
function trustOf(point, sensors) {
  if (point?.state === 'unknown' && sensors?.length === 0) return [t('yard.no-sensor')];
  if (!point) return [el('b', { class: 'unwatched' }, t('yard.unwatched'))];
  if (isUnwatched(point))
    return [el('b', { class: 'unwatched' }, t('yard.unwatched')), ` ${t(`trust.${point.trust}`)}`];
  return point.trust === 'fresh' ? [] : [t(`trust.${point.trust}`)];
}

function pointLine(board, { point: id, title, sensors }) {
  const point = board.state.points[id];
  const state = point?.state ?? 'unknown';
  const trust = trustOf(point, sensors);
  const seen = sensors?.length
    ? el('span', { class: 'heard', 'data-point': id }, heardWord(board, id))
    : null;
  return el(
    'li',
    { class: `point point-${state}`, 'data-point': id, 'data-state': state },
    el('span', { class: 'point-title' }, title ?? id),
    el('span', { class: 'point-trust' }, trust, trust.length && seen ? ' · ' : null, seen),
    point?.distrusted?.length ? el('b', { class: 'out-of-order' }, t('yard.out-of-order')) : null,
    el(
      'span',
      { class: 'point-state' },
      point ? locks(point) : null,
      ' ',
      el('b', {}, t(`point.${state}`)),
    ),
  );
}

function cabinet(board, { dispenser, positions, points }) {
  return el(
    'li',
    { class: 'cabinet' },
    el('h3', {}, t('yard.dispenser', { dispenser })),
    el(
      'ul',
      { class: 'tiles' },
      positions.map((entry) => tile(board, entry)),
    ),
    points.length
      ? el(
          'ul',
          { class: 'points', 'aria-label': t('yard.points') },
          points.map((point) => pointLine(board, point)),
        )
      : null,
  );
}

export function forecourt(board) {
  return el(
    'section',
    { class: 'yard', 'aria-labelledby': 'yard' },
    el('h2', { id: 'yard', tabindex: '-1' }, t('yard.title')),
    el(
      'ul',
      { class: 'cabinets' },
      cabinetsOf(board.state, board.equipment).map((each) => cabinet(board, each)),
    ),
  );
}

// --- Notices ---

const MARKS = [
  [/silent|offline/, 'silent', 'not-live'],
  [/ended$/, 'ended', 'warning'],
  [/ends$/, 'ends', 'caution'],
];

function titleOf(board, notice) {
  if (notice.notice.startsWith('point')) return pointTitle(board.equipment, notice.subject);
  if (notice.notice.startsWith('credential')) return personTitle(board.equipment, notice.subject);
  return notice.subject;
}

// A notice of a kind that this page does not know is shown in the daemon's own words.
function noticeItem(board, notice) {
  const word = `notice.${notice.notice}`;
  const [, mark = 'other', drawing = 'caution'] =
    MARKS.find(([pattern]) => pattern.test(notice.notice)) ?? [];
  const values = { ...notice, title: titleOf(board, notice) };
  return el(
    'li',
    {
      class: `notice notice-${mark}`,
      'data-notice': notice.notice,
      'data-subject': notice.subject,
    },
    sign(drawing),
    el('b', {}, t(`notice.${mark}`)),
    hasWord(word)
      ? el('span', {}, t(word, values))
      : el('span', { lang: 'en' }, notice.say ?? notice.notice),
  );
}

export function notices(board) {
  const list = board.notices ?? [];
  return el(
    'section',
    { class: 'notices', 'aria-labelledby': 'notices' },
    el('h2', { id: 'notices', tabindex: '-1' }, t('notices.title')),
    list.length
      ? el(
          'ul',
          {},
          list.map((notice) => noticeItem(board, notice)),
        )
      : el('p', {}, t('notices.none')),
    board.noticesAt
      ? el('p', { class: 'as-of' }, counting(board.noticesAt, 'notices.as-of'))
      : null,
  );
}
