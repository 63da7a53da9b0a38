// The past: a band for each position, cut where it changed, told apart by height and pattern as
// well as by color; the same as a table; and the totals.
import { el, replace, svg } from './dom.js';
import { getJson } from './api.js';
import { figure } from './numbers.js';
import { clockTime, duration, language, t } from './words.js';

const DAY_MS = 24 * 3600 * 1000;
export const PERIODS = { day: DAY_MS, week: 7 * DAY_MS, month: 30 * DAY_MS };
const EVERY_MS = 60_000;
const SOON_MS = 1500; // after a change
const ROWS_MOST = 100;
const BAND = 44; // height of a position's band
const TICK_WIDTH = 58; // of a word on the axis
const QUARTER_MS = 15 * 60 * 1000;
const KINDS = ['in-service', 'out', 'working', 'stopped', 'testing', 'unknown'];

// What is in service runs along the middle as a thin line; whatever is not stands out of it.
const HEIGHTS = { 'in-service': 10, out: 34, working: 34, stopped: 34, testing: 34, unknown: 20 };

// --- Patterns ---

const line = (d, kind, width) => svg('path', { d, class: `line-${kind}`, 'stroke-width': width });

const PATTERNS = {
  working: [
    svg('rect', { width: 12, height: 12, class: 'fill-safe' }),
    line('M-3 15L15 -3M-3 3L3 -3M9 15L15 9', 'paper', 2.5),
  ],
  testing: [
    svg('rect', { width: 12, height: 12, class: 'fill-warning' }),
    svg('circle', { cx: 6, cy: 6, r: 2.6, class: 'fill-ink' }),
  ],
  unknown: [
    svg('rect', { width: 12, height: 12, class: 'fill-paper' }),
    line('M0 0L12 12M12 0L0 12', 'gray', 1.5),
  ],
};

// The definitions that the bands of a page share.
export function patterns() {
  return svg(
    'svg',
    { class: 'patterns', width: 0, height: 0, 'aria-hidden': 'true' },
    svg(
      'defs',
      {},
      Object.entries(PATTERNS).map(([name, drawing]) =>
        svg(
          'pattern',
          { id: `span-${name}`, width: 12, height: 12, patternUnits: 'userSpaceOnUse' },
          drawing,
        ),
      ),
    ),
  );
}

// One span from x on, `width` wide.
function mark(kind, x, width) {
  const height = HEIGHTS[kind];
  const y = (BAND - height) / 2;
  const box = { x, y, width, height };
  if (kind === 'in-service') return svg('rect', { ...box, class: 'fill-notice' });
  if (kind === 'out') {
    const inner = { ...box, x: x + 2, y: y + 2, width: Math.max(0, width - 4), height: height - 4 };
    return [
      svg('rect', { ...box, class: 'fill-danger' }),
      width > 4 ? svg('rect', { ...inner, class: 'fill-paper' }) : null,
    ];
  }
  if (kind === 'stopped')
    return [
      svg('rect', { ...box, class: 'fill-danger' }),
      width > 14 ? line(`M${x + width / 2 - 6} ${BAND / 2}h12`, 'paper', 5) : null,
    ];
  return svg('rect', { ...box, fill: `url(#span-${kind})` });
}

export function legend() {
  return el(
    'ul',
    { class: 'legend' },
    KINDS.map((kind) =>
      el(
        'li',
        {},
        svg('svg', { width: 36, height: BAND, 'aria-hidden': 'true' }, mark(kind, 0, 36)),
        t(`span.${kind}`),
      ),
    ),
  );
}

// --- Bands ---

export const lengthOf = (span) => (Date.parse(span.to) - Date.parse(span.from)) / 1000;

// Seconds of each kind in a position's spans, those that occur.
export function sharesOf(spans) {
  const sums = {};
  for (const span of spans) sums[span.state] = (sums[span.state] ?? 0) + lengthOf(span);
  return KINDS.filter((kind) => sums[kind]).map((kind) => [kind, sums[kind]]);
}

const summary = (spans) =>
  sharesOf(spans)
    .map(([kind, s]) => t('past.share', { kind: t(`span.${kind}`), time: duration(s) }))
    .join(', ');

// A span is at least two units wide: a stop of a second is seen in a month. What is not in service
// is drawn last, so that nothing hides it.
function drawn(spans, from, scale, most) {
  const quiet = (span) => (span.state === 'in-service' || span.state === 'unknown' ? 0 : 1);
  return [...spans]
    .sort((a, b) => quiet(a) - quiet(b))
    .map((span) => {
      const width = Math.max(2, lengthOf(span) * 1000 * scale);
      const x = Math.min((Date.parse(span.from) - from) * scale, most - width);
      const words = `${t(`span.${span.state}`)} ${duration(lengthOf(span))}`;
      return svg(
        'g',
        { 'data-state': span.state },
        svg('title', {}, [words, span.job].filter(Boolean).join(' · ')),
        mark(span.state, x, width),
      );
    });
}

// Where the axis is marked: whole days of the site, within a day every third hour.
export function ticksOf(from, to, period, timeZone) {
  const clock = new Intl.DateTimeFormat('en-GB', {
    timeZone,
    day: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  });
  const ticks = [];
  for (let at = Math.ceil(from / QUARTER_MS) * QUARTER_MS; at < to; at += QUARTER_MS) {
    const parts = Object.fromEntries(clock.formatToParts(at).map((p) => [p.type, Number(p.value)]));
    const hour = parts.hour % 24;
    if (parts.minute !== 0 || (period === 'day' ? hour % 6 !== 0 : hour !== 0)) continue;
    if (period !== 'month' || parts.day % 5 === 0 || parts.day === 1) ticks.push(at);
  }
  return ticks;
}

function tickWord(at, period, timeZone) {
  const options =
    period === 'day'
      ? { hour: '2-digit', minute: '2-digit', hourCycle: 'h23', timeZone }
      : { day: 'numeric', month: 'short', timeZone };
  return new Date(at).toLocaleString(language(), options);
}

// At its right end the axis says `now`, and nothing else.
function axis(ticks, period, zone, from, scale, width) {
  let free = 0;
  const places = ticks
    .map((at) => [at, (at - from) * scale])
    .filter(([, x]) => x >= free && x < width - 100 && (free = x + TICK_WIDTH));
  return svg(
    'svg',
    { class: 'axis', width, height: 22, 'aria-hidden': 'true' },
    places.map(([at, x]) => [
      svg('path', { d: `M${x} 0v22`, class: 'line-gray', 'stroke-width': 1 }),
      svg('text', { x: x + 4, y: 16 }, tickWord(at, period, zone)),
    ]),
    svg('text', { x: width - 2, y: 16, 'text-anchor': 'end', class: 'now' }, t('past.now')),
  );
}

function band(entry, ticks, from, scale, width) {
  const label = t('past.picture', { position: entry.position, summary: summary(entry.spans) });
  return el(
    'li',
    { class: 'band', 'data-position': entry.position },
    el('span', { class: 'id' }, entry.position),
    svg(
      'svg',
      { width, height: BAND, role: 'img', 'aria-label': label },
      ticks.map((at) =>
        svg('path', { d: `M${(at - from) * scale} 0v${BAND}`, class: 'grid', 'stroke-width': 1 }),
      ),
      drawn(entry.spans, from, scale, width),
    ),
  );
}

// --- Tables ---

const head = (...words) =>
  el(
    'thead',
    {},
    el(
      'tr',
      {},
      words.map((word) => el('th', { scope: 'col' }, t(word))),
    ),
  );
const cells = (first, ...rest) =>
  el(
    'tr',
    {},
    el('th', { scope: 'row' }, first),
    rest.map((text) => el('td', {}, text)),
  );

function spanTable(timeline, zone) {
  const rows = timeline.positions
    .flatMap(({ position, spans }) => spans.map((span) => ({ position, ...span })))
    .sort((a, b) => b.from.localeCompare(a.from));
  const shown = rows.slice(0, ROWS_MOST);
  const cause = (row) => (row.cause ? t(`total.cause.${row.cause}`) : '');
  return [
    rows.length > shown.length
      ? el('p', {}, t('past.rest', { n: shown.length, all: rows.length }))
      : null,
    el(
      'div',
      { class: 'wide', tabindex: '0', role: 'region', 'aria-label': t('past.table-of') },
      el(
        'table',
        {},
        el('caption', {}, t('past.table-of')),
        head('past.position', 'past.from', 'past.to', 'past.state', 'past.cause', 'outs.job'),
        el(
          'tbody',
          {},
          shown.map((row) =>
            cells(
              row.position,
              clockTime(row.from, zone),
              row.ongoing ? t('past.now') : clockTime(row.to, zone),
              t(`span.${row.state}`),
              cause(row),
              row.job ?? '',
            ),
          ),
        ),
      ),
    ),
  ];
}

function totals(downtime) {
  const whole = (Date.parse(downtime.to) - Date.parse(downtime.from)) / 1000;
  const share = (s, of = whole) => `${figure(of > 0 ? Number(((100 * s) / of).toFixed(1)) : 0)} %`;
  const causes = Object.entries(downtime.by_cause).filter(([, s]) => s > 0);
  const positions = [...downtime.positions].sort((a, b) => b.out_s - a.out_s);
  const { repairs } = downtime;
  return [
    el(
      'table',
      { class: 'by-position' },
      el('caption', {}, t('total.by-position')),
      head('past.position', 'total.out', 'total.share', 'total.times'),
      el(
        'tbody',
        {},
        positions.map((p) =>
          cells(p.position, duration(p.out_s), share(p.out_s), figure(p.intervals.length)),
        ),
        cells(
          t('total.all'),
          duration(downtime.out_s),
          share(downtime.out_s, whole * positions.length),
          figure(positions.reduce((n, p) => n + p.intervals.length, 0)),
        ),
      ),
    ),
    el(
      'table',
      { class: 'by-cause' },
      el('caption', {}, t('total.by-cause')),
      head('past.cause', 'total.out', 'total.share-of-out'),
      el(
        'tbody',
        {},
        causes.length
          ? causes.map(([cause, s]) =>
              cells(t(`total.cause.${cause}`), duration(s), share(s, downtime.out_s)),
            )
          : cells(t('total.none'), duration(0), ''),
      ),
    ),
    el(
      'dl',
      { class: 'repairs' },
      [
        ['total.repairs', figure(repairs.count)],
        ['total.mean', repairs.count ? duration(repairs.mean_s) : t('total.none')],
        ['total.longest', repairs.count ? duration(repairs.longest_s) : t('total.none')],
      ].map(([word, value]) => el('div', {}, el('dt', {}, t(word)), el('dd', {}, value))),
    ),
  ];
}

// --- The part of the page ---

// What lies behind: it reads the journal's two views for the period and draws them, and again when
// something changed or a minute has gone by.
export class Past {
  #soon = null;
  #reading = 0;

  constructor(site, zone) {
    this.site = site;
    this.zone = zone;
    this.period = 'day';
    this.holder = el('section', { class: 'past', 'aria-labelledby': 'past' });
    this.width = 0;
    this.took = 0; // ms of the last reading
    new ResizeObserver(() => this.#measure()).observe(this.holder);
    this.timer = setInterval(() => document.hidden || this.changed(), EVERY_MS);
    this.render();
    this.read();
  }

  #measure() {
    const width = Math.floor(this.holder.clientWidth);
    if (Math.abs(width - this.width) < 2) return;
    this.width = width;
    this.render();
  }

  // A long journal takes its time: it is not read for more than a tenth of ours.
  changed() {
    const pause = Math.max(SOON_MS, 10 * this.took);
    this.#soon ??= setTimeout(() => {
      this.#soon = null;
      this.read();
    }, pause);
  }

  #query(format) {
    const to = Date.now() + (this.skew ?? 0);
    const from = new Date(to - PERIODS[this.period]).toISOString();
    const query = new URLSearchParams({ from });
    if (format) query.set('format', format);
    return query;
  }

  #path(what, format) {
    return `/api/${encodeURIComponent(this.site)}/${what}?${this.#query(format)}`;
  }

  async read() {
    const mine = ++this.#reading;
    const began = performance.now();
    try {
      const timeline = await getJson(this.#path('timeline'), { timeout: 60_000 });
      const downtime = await getJson(this.#path('downtime'), { timeout: 60_000 });
      if (mine !== this.#reading) return;
      this.took = performance.now() - began;
      Object.assign(this, { timeline, downtime, failed: false, drawnPeriod: this.period });
    } catch {
      if (mine !== this.#reading) return;
      this.failed = true;
    }
    this.render();
  }

  #choose(period) {
    this.period = period;
    this.render();
    this.read();
  }

  #periods() {
    return el(
      'div',
      { class: 'periods', role: 'group', 'aria-label': t('past.period') },
      Object.keys(PERIODS).map((period) =>
        el(
          'button',
          {
            type: 'button',
            'data-key': `period-${period}`,
            'aria-pressed': String(period === this.period),
            onclick: () => this.#choose(period),
          },
          t(`past.${period}`),
        ),
      ),
    );
  }

  #bands() {
    const { timeline, zone } = this;
    const [from, to] = [Date.parse(timeline.from), Date.parse(timeline.to)];
    const width = Math.max(120, this.width - 64 - (this.width > 700 ? 32 : 0));
    const scale = width / (to - from);
    const ticks = ticksOf(from, to, this.drawnPeriod, zone);
    const [first, last] = [from, to].map((at) => clockTime(at, zone));
    return [
      el('p', { class: 'range' }, t('past.range', { from: first, to: last })),
      el(
        'ul',
        { class: 'bands' },
        timeline.positions.map((entry) => band(entry, ticks, from, scale, width)),
      ),
      axis(ticks, this.drawnPeriod, zone, from, scale, width),
      legend(),
    ];
  }

  #file(what, word) {
    const name = `${this.site}-${what}-${this.period}.csv`;
    return el(
      'a',
      { class: 'button', href: this.#path(what, 'csv'), download: name, 'data-file': what },
      t(word),
    );
  }

  render() {
    const open = this.holder.querySelector('details')?.open;
    replace(
      this.holder,
      el(
        'div',
        { class: 'section-head' },
        el('h2', { id: 'past', tabindex: '-1' }, t('past.title')),
        this.#periods(),
      ),
      el(
        'p',
        { role: 'status', class: this.failed ? 'failed' : 'status' },
        this.failed ? t('past.failed') : this.drawnPeriod === this.period ? '' : t('past.reading'),
      ),
      this.timeline ? this.#bands() : null,
      this.timeline
        ? el(
            'details',
            { open },
            el('summary', {}, t('past.as-table')),
            spanTable(this.timeline, this.zone),
          )
        : null,
      el('p', { class: 'links' }, this.#file('timeline', 'past.file')),
      el('h2', { tabindex: '-1' }, t('total.title')),
      this.downtime ? el('div', { class: 'totals' }, totals(this.downtime)) : null,
      el('p', { class: 'links' }, this.#file('downtime', 'total.file')),
    );
  }
}
