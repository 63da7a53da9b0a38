// The day around a repair: what stands beside its gates, and what may be said of it.
import { el } from './dom.js';
import { hangsOf } from './hangs.js';
import { figure, withUnit } from './numbers.js';
import { t } from './words.js';
import { personTitle } from './refusals.js';
import { dayActions } from './at-day-actions.js';
import { button, when } from './at-rows.js';

const line = (...parts) =>
  el('li', { class: 'line' }, el('div', {}, parts.map((p) => el('p', { class: 'ask' }, p))));
const small = (...parts) => el('span', { class: 'small' }, parts);

function expectedRow(ctx) {
  const { expected } = ctx.job;
  if (!expected) return null;
  const by = personTitle(ctx.equipment, expected.by);
  const moved = expected.moved > 0 && t('day.moved', { count: expected.moved });
  return line([t('day.expected', { at: when(ctx, expected.at), by }), ' ', moved && small(moved)]);
}

const amount = (value, unit) => withUnit(figure(Number(value.toPrecision(6))), unit);

// What was drawn of a product, where it went, and what is left to account for.
function fuelRow(of) {
  const { product, unit, tank } = of;
  const shown = (value) => amount(value, unit);
  const went = t('day.fuel', {
    product,
    drawn: shown(of.drawn),
    returned: shown(of.returned),
    kept: shown(of.kept),
  });
  const rest = of.accounted
    ? t('day.accounted')
    : t('day.unaccounted', { amount: shown(of.unaccounted), tolerance: shown(of.tolerance) });
  return line([
    went,
    tank && ` ${t('day.tank', { tank })}`,
    ' ',
    of.accounted ? small(rest) : el('strong', {}, rest),
  ]);
}

function shiftRow(ctx) {
  const shift = ctx.job.shift_note;
  if (!shift) return null;
  const person = (id) => personTitle(ctx.equipment, id);
  const signed = shift.signed_by
    ? t('day.shift-signed', { by: person(shift.signed_by), at: when(ctx, shift.signed) })
    : t('day.shift-unsigned', { to: person(shift.to) });
  return line([t('day.shift', { by: person(shift.by), note: shift.note }), ' ', small(signed)]);
}

// Only what a browser follows by itself is a link; the daemon has taken nothing else.
const link = ({ url, title }) =>
  /^https?:/i.test(url)
    ? el('a', { href: url, rel: 'noopener noreferrer', target: '_blank' }, title)
    : title;

const attachmentRow = (ctx, one) =>
  line([
    link(one),
    ' ',
    small(
      t('day.attached', {
        by: personTitle(ctx.equipment, one.by),
        at: when(ctx, one.at),
        sha256: one.sha256.slice(0, 12),
      }),
    ),
  ]);

const partRow = (of) =>
  line([
    t('day.fitted', { part: [of.part, of.family, of.serial].filter(Boolean).join(', ') }),
    of.due && ` ${t('hangs.due', { due: of.due })}`,
  ]);

function hangRows(ctx) {
  const told = ctx.state?.positions[ctx.position];
  const zone = ctx.equipment.time_zone;
  return hangsOf(told ?? {}, Date.now(), zone).map(({ text, bad }) =>
    line([t('day.hangs', { what: '' }), bad ? el('strong', {}, text) : text]),
  );
}

function rowsOf(ctx) {
  if (!ctx.job) return hangRows(ctx);
  const attachments = (ctx.job.attachments ?? []).map((one) => attachmentRow(ctx, one));
  const fuel = (ctx.job.fuel ?? []).map(fuelRow);
  const parts = (ctx.job.fitted ?? []).map(partRow);
  return [expectedRow(ctx), ...hangRows(ctx), ...parts, ...fuel, shiftRow(ctx), ...attachments].filter(Boolean);
}

export function daySection(ctx) {
  const rows = rowsOf(ctx);
  const actions = dayActions(ctx);
  return (
    rows.length + actions.length > 0 &&
    el(
      'section',
      { id: 'day', class: 'rows' },
      el('h2', {}, t('page.day')),
      rows.length > 0 && el('ul', {}, rows),
      actions.map((a) => button(ctx, a)),
    )
  );
}
