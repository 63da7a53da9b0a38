// Numbers on every page, in both languages alike: how one that is typed is read, and how one is shown.
// What is shown can be typed again: a decimal point, thousands never marked.
import './number-words.js';
import { t } from './words.js';

// --- Typed ---

const PLAIN = /^-?(?=[.,]?[0-9])([0-9]*)(?:[.,]([0-9]+))?$/;
// On the way to a number: nothing, a minus, digits with a mark that nothing follows yet.
const BEGUN = /^-?[0-9]*[.,]?$/;

const without = (zeros, digits) => digits.replace(zeros, '');

// How to write, without doubt, what has three digits behind its mark: as a whole number, which a mark
// between thousands would have meant, and with one digit more or fewer.
function unambiguous(minus, whole, parts) {
  const tail = without(/0+$/, parts);
  const places = tail.length === 3 ? `${tail}0` : tail;
  const begun = without(/^0+(?=[0-9])/, whole) || '0';
  const written = `${minus}${begun}${places && '.'}${places}`;
  const digits = without(/^0+(?=[0-9])/, whole + parts);
  return Number(whole) === 0
    ? t('number.one-way', { parts: written })
    : t('number.two-ways', { whole: minus + digits, parts: written });
}

// {value} of digits with at most one decimal mark, a point or a comma, and a minus before them; else
// {wrong}: a sentence that says what to write. A mark with exactly three digits behind it stands between
// thousands for some and before decimals for others: that is never guessed.
export function readNumber(typed) {
  const text = typed.trim();
  const found = PLAIN.exec(text);
  if (!found) return { wrong: t('number.form') };
  const [, whole, parts = ''] = found;
  const minus = text.startsWith('-') ? '-' : '';
  if (parts.length === 3) return { wrong: unambiguous(minus, whole, parts) };
  const value = Number(`${minus}${whole || '0'}.${parts || '0'}`);
  if (!Number.isFinite(value)) return { wrong: t('number.large') };
  return { value: value === 0 ? 0 : value }; // a zero has no sign
}

// What is said of a number while it is typed: {said}, {wrong}, or neither where there is nothing to say
// yet. `unit` is how people write it.
export function understood(typed, unit) {
  if (BEGUN.test(typed.trim()) && !/[0-9]$/.test(typed.trim())) return {};
  const { value, wrong } = readNumber(typed);
  return wrong ? { wrong } : { said: t('number.understood', { reading: withUnit(figure(value), unit) }) };
}

// --- Shown ---

// A number with the digits that were measured.
export const figure = (value) =>
  Number(value).toLocaleString('en-US', { maximumSignificantDigits: 15, useGrouping: false });

// A unit as people write it; requests and configuration carry it as it is configured.
const SIGNS = { ohm: 'Ω', ft3: 'ft³', m3: 'm³', 'N.m': 'N·m', 'ft.lbf': 'ft·lbf', 'in WC': 'inH2O' };
export const unitSign = (unit) => SIGNS[unit] ?? unit ?? '';

export const withUnit = (text, unit) => `${text} ${unitSign(unit)}`.trimEnd();

const has = (x) => x !== null && x !== undefined;

// The limits of a reading in words, with their direction and unit; '' where there are none.
export function limitWords({ min, max, unit, exceeds }) {
  const [least, most] = [min, max].map((x) => has(x) && shown(x));
  if (least && most) return withUnit(t('limit.between', { min: least, max: most }), unit);
  if (most) return withUnit(t('limit.most', { max: most }), unit);
  const word = exceeds ? 'limit.more' : 'limit.least'; // a value that only meets it fails
  return least ? withUnit(t(word, { min: least }), unit) : '';
}

const digitsOf = (value) => without(/^0+|e.*$/g, String(Math.abs(value)).replace('.', '')).length;
// Nobody types more digits: a number that has more was calculated.
const isTyped = (value) => digitsOf(value) <= 12;

const significant = (value, digits) =>
  Number(value).toLocaleString('en-US', {
    minimumSignificantDigits: digits,
    maximumSignificantDigits: digits,
    useGrouping: false,
  });

// A number as it was typed, or what was calculated with five digits and whole ones all.
export function shown(given) {
  const value = Number(given);
  if (isTyped(value)) return figure(value);
  const clean = Number(value.toPrecision(12)); // without what only the arithmetic left behind
  if (digitsOf(clean) <= 9) return figure(clean);
  return Math.abs(clean) < 1e5 ? significant(clean, 5) : clean.toFixed(0);
}

// How far a value is from its limit: two digits say it, where it was calculated.
export function shownMargin(value) {
  const clean = Number(value.toPrecision(12));
  return digitsOf(clean) <= 4 ? figure(clean) : figure(Number(clean.toPrecision(2)));
}

// How far a value is from its nearest limit; null where it has none.
function marginOf({ value, min, max }) {
  const ends = [has(min) && value - min, has(max) && max - value].filter((x) => x !== false);
  return ends.length > 0 ? Math.min(...ends) : null;
}

// The limits of a test's result, each at its end. One that is a number alone is told apart by its margin:
// over a least value that is value - limit, under a greatest one limit - value. Where the value just meets
// it, `test` tells by its own limits.
function endsOf({ value, limit, margin }, test) {
  if (!has(limit)) return { min: null, max: null };
  if (typeof limit === 'object') return limit;
  const over = value - limit;
  const least = margin
    ? Math.abs(over - margin) < Math.abs(over + margin)
    : has(test?.min) && !has(test?.max);
  return least ? { min: limit, max: null } : { min: null, max: limit };
}

// A test's result with its unit and its limits by their ends, as resultWords takes it; `test` is what the
// procedure says of it.
export const testResult = (result, test) => ({
  value: result.value,
  unit: test?.unit,
  ...endsOf(result, test),
  exceeds: test?.exceeds,
  margin: result.margin,
});

export function valueWords({ value, unit, reading, reading_unit: from, rule }) {
  const counts = withUnit(shown(value), unit);
  if (!has(reading)) return counts;
  const key = rule === 'torque-applied' ? 'torque.at-nut' : 'unit.converted';
  return t(key, { reading: withUnit(figure(reading), from), value: counts });
}

// "1.25 inH2O, at least 1.2120; margin 0.038": what was measured or computed, the limits that it was
// held against, and how far it is from the nearest. '' where there is no value. Where the value was
// computed from what was read, that is said first, and when it is outside; `rule` is the check's.
export function resultWords(result) {
  const { value, min, max, exceeds, margin = marginOf(result) } = result;
  if (!has(value)) return '';
  const limits = limitWords({ min, max, exceeds });
  const far = has(margin) ? `; ${t('limit.margin', { margin: shownMargin(margin) })}` : '';
  const out = has(result.reading) && result.pass === false && has(margin) && margin < 0;
  const said = out ? t('limit.out', { value: valueWords(result) }) : valueWords(result);
  return `${said}${limits && `, ${limits}`}${far}`;
}
