// The day around the repair, as the record tells it: what was promised, left to the next shift, attached.
import { el } from './dom.js';
import { figure, withUnit } from './numbers.js';
import { full, section, small, when } from './record-parts.js';
import { t } from './words.js';

const item = (...parts) => el('li', {}, parts);

const expected = ({ expected: of }) =>
  of && item(t('record.expected', { time: full(of.at), person: of.by, count: of.moved }));

// A volume with the digits that say something; one that was converted has more.
const amount = (value, unit) =>
  value === null ? '–' : withUnit(figure(Number(value.toPrecision(6))), unit);

const fuel = (of) =>
  item(
    t('record.fuel', {
      product: of.product,
      drawn: amount(of.drawn, of.unit),
      returned: amount(of.returned, of.unit),
      kept: amount(of.kept, of.unit),
      tank: of.tank ?? '–',
      before: amount(of.totalizer_before, of.unit),
      after: amount(of.totalizer_after, of.unit),
    }),
    ' ',
    el(of.accounted ? 'span' : 'b', {}, t(of.accounted ? 'record.accounted' : 'record.unaccounted', {
      amount: amount(of.unaccounted, of.unit),
      tolerance: amount(of.tolerance, of.unit),
    })),
  );

const part = (of) =>
  item(
    `${when(of.fitted)} `,
    t('record.part-fitted', {
      part: of.part,
      family: of.family ?? '–',
      serial: of.serial ?? '–',
      due: of.due ?? '–',
    }),
  );

function shift({ shift_note: of }) {
  if (!of) return null;
  const signed = of.signed_by
    ? t('record.shift-signed', { person: of.signed_by, time: when(of.signed) })
    : t('record.shift-unsigned');
  return item(`${when(of.at)} `, t('record.shift', { person: of.by, note: of.note }), ' ', small(signed));
}

const attachment = (of) =>
  item(
    `${when(of.at)} ${of.by}: `,
    /^https?:/i.test(of.url) ? el('a', { href: of.url, rel: 'noopener noreferrer' }, of.title) : of.title,
    small([of.check, of.test, of.alarm].filter(Boolean).join(', ')),
    small(`SHA-256 ${of.sha256}`),
  );

export function day(record) {
  const rows = [expected(record), ...(record.fitted ?? []).map(part), ...(record.fuel ?? []).map(fuel), shift(record), ...(record.attachments ?? []).map(attachment)].filter(Boolean);
  return rows.length > 0 && section('record.around', el('ul', { class: 'pairs' }, rows));
}
