// The drawings of the signs. Shapes after ISO 3864-1: a ring with a bar forbids, a triangle warns, a
// disc obliges, a square is a safe condition; the octagon is the road's stop.
import { svg } from './dom.js';

// An open hand, palm to the viewer, about 40 wide around 0,0.
const HAND =
  'M-13 20v-9l-7-9c-3-4 2-8 5-4l4 5v-19c0-5 6-5 6 0v-4c0-5 6-5 6 0v3c0-5 6-5 6 0v5c0-4 6-4 6 0' +
  'v18c0 8-4 12-4 14z';
const BOLT = 'M4-26l-16 28h10l-5 22 18-29h-11z';

const hand = (kind, scale = 1, x = 50, y = 52) =>
  svg('path', { d: HAND, class: kind, transform: `translate(${x} ${y}) scale(${scale})` });

const forbidden = () => [
  svg('circle', { cx: 50, cy: 50, r: 43, class: 'fill-paper' }),
  hand('fill-ink', 1.15),
  svg('circle', { cx: 50, cy: 50, r: 42, class: 'line-danger', 'stroke-width': 11 }),
  svg('path', { d: 'M20 20L80 80', class: 'line-danger', 'stroke-width': 11 }),
];

const octagon = () => [
  svg('path', { d: 'M31 3h38l28 28v38l-28 28h-38l-28-28v-38z', class: 'fill-paper' }),
  svg('path', { d: 'M33 9h34l24 24v34l-24 24h-34l-24-24v-34z', class: 'fill-danger' }),
  hand('fill-paper', 1.35),
];

const triangle = (kind, inner) => [
  svg('path', { d: 'M50 6L97 90H3z', class: 'fill-ink round' }),
  svg('path', { d: 'M50 19L87 84H13z', class: kind }),
  inner,
];

const bolt = () =>
  triangle(
    'fill-caution',
    svg('path', { d: BOLT, class: 'fill-ink', transform: 'translate(51 59) scale(.95)' }),
  );

const exclaim = (kind) =>
  triangle(kind, [
    svg('path', { d: 'M45 38h10l-2 24h-6z', class: 'fill-ink' }),
    svg('circle', { cx: 50, cy: 72, r: 5, class: 'fill-ink' }),
  ]);

// A shackle through a hasp: the lock hangs.
const locked = () => [
  svg('rect', { x: 3, y: 3, width: 94, height: 94, rx: 6, class: 'fill-paper' }),
  svg('rect', { x: 8, y: 8, width: 84, height: 84, rx: 3, class: 'fill-safe' }),
  svg('path', { d: 'M36 46V34a14 14 0 0 1 28 0v12', class: 'line-paper', 'stroke-width': 8 }),
  svg('rect', { x: 27, y: 45, width: 46, height: 36, rx: 4, class: 'fill-paper' }),
  svg('path', { d: 'M38 62l8 8 16-16', class: 'line-safe round', 'stroke-width': 6 }),
];

// A dispenser that runs: an energized cabinet, hands out.
const running = () => [
  svg('circle', { cx: 50, cy: 50, r: 47, class: 'fill-paper' }),
  svg('circle', { cx: 50, cy: 50, r: 42, class: 'fill-notice' }),
  svg('path', { d: 'M29 76V26a4 4 0 0 1 4-4h22a4 4 0 0 1 4 4v50z', class: 'fill-paper' }),
  svg('rect', { x: 35, y: 29, width: 18, height: 14, class: 'fill-notice' }),
  svg('path', {
    d: 'M59 50h6v15a5 5 0 0 0 10 0V42l-9-9',
    class: 'line-paper round',
    'stroke-width': 4,
  }),
];

const unheard = () => [
  svg('rect', { x: 5, y: 5, width: 90, height: 90, class: 'fill-paper' }),
  svg('rect', { x: 8, y: 8, width: 84, height: 84, class: 'line-gray', 'stroke-width': 6 }),
  svg('path', { d: 'M26 74L74 26M26 26L74 74', class: 'line-gray', 'stroke-width': 9 }),
];

const DRAWINGS = {
  'not-safe': forbidden,
  stop: octagon,
  confirmed: locked,
  test: bolt,
  'in-service': running,
  'not-live': unheard,
  late: () => exclaim('fill-caution'),
  danger: () => exclaim('fill-paper'),
  warning: () => exclaim('fill-warning'),
  caution: () => exclaim('fill-caution'),
};

// The drawing of a sign; the word stands beside it, so a screen reader passes over the drawing.
export function sign(name) {
  const box = { viewBox: '0 0 100 100', class: `sign sign-${name}`, 'aria-hidden': 'true' };
  return svg('svg', box, DRAWINGS[name]());
}

// The color class of a verdict's panel.
export const PANEL = {
  'not-safe': 'on-plain',
  stop: 'on-danger',
  confirmed: 'on-safe',
  test: 'on-warning',
  'in-service': 'on-notice',
  'not-live': 'on-none',
  late: 'on-caution',
};
