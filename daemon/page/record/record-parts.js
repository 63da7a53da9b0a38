// What every part of the record is written with: times of the site, names, limits, tables.
import { el } from './dom.js';
import { limitWords, shown, withUnit } from './numbers.js';
import { siteTime } from './site-time.js';
import { hasWord, t } from './words.js';

let zone = 'UTC';
let today = '';
// The site's time zone; and the day of the opening, which times that are of it go without.
export function setClock(timeZone, opened) {
  zone = timeZone;
  today = full(opened).slice(0, 11);
}

// "16:37:14" of the opening's day, else with its day.
export function when(at) {
  const text = full(at);
  return text.startsWith(today) ? text.slice(today.length) : text;
}

// "2026-11-25 16:37:14" in the site's time zone; the same in every language.
export function full(at) {
  if (!at) return '–';
  const { year, month, day, hour, minute, second } = siteTime(at, zone);
  return `${year}-${month}-${day} ${hour}:${minute}:${second}`;
}

export const time = (at) => el('span', { class: 'when' }, when(at));

// A code as a word of the language; one that is new is shown as it is.
export const word = (prefix, code) => (hasWord(`${prefix}${code}`) ? t(`${prefix}${code}`) : code);

export const name = (id, title) => (!id ? '–' : title && title !== id ? `${title} (${id})` : id);
// Of whom and what another section tells the id.
export const called = (id, title) => (id && title) || id || '–';

export const limits = (of) => limitWords(of) || '–';
export const reading = (value, unit) => (value === null ? '–' : withUnit(shown(value), unit));

// Who signed, when, and with what instrument; what else was said of it stands below.
export const signature = (signed, ...more) => [
  time(signed.at),
  ` ${called(signed.by, signed.title)}`,
  signed.instrument && `, ${signed.instrument} `,
  signed.instrument &&
    el('span', { class: 'when' }, t('record.calibrated', { until: signed.calibrated_until ?? '?' })),
  more,
  signed.note && small(t('record.note', { note: signed.note })),
];

// A table with its heads. A row is a list of cells, the first of which heads it; or {head, rows}:
// a head (a list of cells) that stands beside all of its rows, {void, cells}.
export function table(kind, heads, rows) {
  const cellsOf = (cells) => cells.map((cell) => el('td', {}, cell));
  const plain = ([first, ...others]) =>
    el('tr', {}, el('th', { scope: 'row' }, first), cellsOf(others));
  const group = ({ head: [first, ...others], rows: lines }) =>
    lines.map((row, i) =>
      el(
        'tr',
        { class: row.void ? 'void' : null },
        i === 0 && [
          el('th', { scope: 'rowgroup', rowspan: lines.length }, first),
          others.map((cell) => el('td', { rowspan: lines.length }, cell)),
        ],
        cellsOf(row.cells),
      ),
    );
  const line = (row) => (Array.isArray(row) ? plain(row) : group(row));
  return el(
    'div',
    { class: 'wide-table', tabindex: '0', role: 'group', 'aria-label': heads[0] },
    el(
      'table',
      { class: `of-${kind}` },
      el(
        'thead',
        {},
        el(
          'tr',
          {},
          heads.map((head) => el('th', { scope: 'col' }, head)),
        ),
      ),
      el('tbody', {}, rows.map(line)),
    ),
  );
}

export const section = (key, ...children) => el('section', {}, el('h2', {}, t(key)), ...children);

export const small = (...text) => el('div', { class: 'small' }, ...text);

export const voided = (one) =>
  one &&
  el(
    'span',
    { class: 'small' },
    ` · ${t('record.void', { time: when(one.at), why: word('record.void-', one.why) })}`,
  );
