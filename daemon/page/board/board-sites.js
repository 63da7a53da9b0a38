// All sites that a person may see, one card each. Their snapshots are read one after the other,
// since a stream a site would take every connection of a browser; each card says how old it is.
import { getJson } from './api.js';
import { countAll, counting, languages } from './board-frame.js';
import { countsOf } from './board-state.js';
import { el, replace } from './dom.js';
import { sign } from './signs.js';
import { t } from './words.js';

const ROUND_MS = 5000; // from one reading of a site to the next, with few sites
const GAP_MS = 150; // between two readings
const LATE_MS = 15_000;
const DEAD_MS = 40_000;

const byId = (list, key) => Object.fromEntries((list ?? []).map((entry) => [entry[key], entry]));

const stateOf = (snapshot) => ({
  ...snapshot,
  positions: byId(snapshot.positions, 'position'),
  points: byId(snapshot.points, 'point'),
  jobs: byId(snapshot.jobs, 'job'),
  alarms: byId(snapshot.alarms, 'alarm'),
});

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

class Sites {
  #cards = new Map();

  constructor(root, me) {
    this.root = root;
    this.me = me;
    for (const site of me.sites) this.#cards.set(site.site, { site, counts: null, at: null });
    this.render();
    setInterval(() => this.#tick(), 1000);
    this.#read();
  }

  async #read() {
    for (;;) {
      const began = performance.now();
      for (const card of this.#cards.values()) {
        await this.#readOne(card);
        await pause(GAP_MS);
      }
      await pause(Math.max(GAP_MS, ROUND_MS - (performance.now() - began)));
    }
  }

  async #readOne(card) {
    try {
      const state = stateOf(await getJson(`/api/${encodeURIComponent(card.site.site)}`));
      card.counts = countsOf(state);
      card.skew = Date.parse(state.at) - Date.now();
      card.at = performance.now();
      this.render();
    } catch {
      this.render(); // it grows old, and says so
    }
  }

  // With many sites a round takes longer; a card is late when it missed one.
  #levelOf(card) {
    const slack = this.#cards.size * GAP_MS * 2;
    const age = card.at === null ? Infinity : performance.now() - card.at;
    return age > DEAD_MS + slack ? 'dead' : age > LATE_MS + slack ? 'late' : 'live';
  }

  #tick() {
    countAll(this.root, Date.now());
    const levels = [...this.#cards.values()].map((card) => this.#levelOf(card)).join();
    if (levels !== this.levels) this.render();
    this.levels = levels;
  }

  // Those that need somebody first: alarms, then what has been out longest.
  #order() {
    const worth = ({ counts }) => [
      counts?.alarms ?? 0,
      counts?.oldest ? -counts.oldest : -Infinity,
    ];
    return [...this.#cards.values()].sort((a, b) => {
      const [x, y] = [worth(a), worth(b)];
      if (Boolean(x[0]) !== Boolean(y[0])) return x[0] ? -1 : 1;
      return x[1] === y[1] ? a.site.title.localeCompare(b.site.title) : x[1] > y[1] ? -1 : 1;
    });
  }

  #lines(card) {
    const { counts, skew } = card;
    const line = (kind, value, word, mark) =>
      value
        ? el(
            'li',
            { class: `line line-${kind}` },
            sign(mark),
            el('b', {}, String(value)),
            ` ${word}`,
          )
        : null;
    return [
      line(
        'alarms',
        counts.alarms,
        t(counts.alarms === 1 ? 'count.alarm' : 'count.alarms'),
        'danger',
      ),
      line('stopped', counts.stopped, t('count.stopped'), 'stop'),
      line('working', counts.working, t('count.working'), 'confirmed'),
      line('testing', counts.testing, t('count.testing'), 'test'),
      line('unknown', counts.unknown, t('count.unknown'), 'not-live'),
      counts.oldest
        ? el('li', {}, `${t('count.oldest')}: `, el('b', {}, counting(counts.oldest - skew)))
        : null,
    ].filter(Boolean);
  }

  #card(card) {
    const { site, counts } = card;
    const level = this.#levelOf(card);
    const outs = counts?.outs ?? null;
    const age = counting(
      card.at === null ? NaN : Date.now() - (performance.now() - card.at),
      'card.as-of',
    );
    const body = counts
      ? [
          el(
            'p',
            { class: outs ? 'outs' : 'outs none' },
            outs
              ? [
                  el('b', {}, String(outs)),
                  ` ${t('count.outs')} ${t('count.of', { n: counts.positions })}`,
                ]
              : t('count.none'),
          ),
          el('ul', { class: 'lines' }, this.#lines(card)),
        ]
      : el('p', {}, t('card.never'));
    return el(
      'li',
      { class: `site-card ${level} ${counts?.alarms ? 'alarmed' : ''}` },
      el(
        'a',
        {
          href: `/board/${encodeURIComponent(site.site)}`,
          'data-key': site.site,
        },
        el('h2', {}, site.title),
      ),
      body,
      el(
        'p',
        { class: 'as-of' },
        level === 'live'
          ? null
          : [sign(level === 'dead' ? 'not-live' : 'late'), t(`state.${level}`), ' '],
        card.at === null ? null : age,
      ),
    );
  }

  render() {
    document.title = `${t('board.sites')} · Forelock`;
    document.body.className = '';
    replace(
      this.root,
      el(
        'header',
        { class: 'head' },
        el('h1', {}, t('board.sites')),
        languages(() => this.render()),
      ),
      el(
        'main',
        {},
        this.me.sites.length
          ? el(
              'ul',
              { class: 'site-cards' },
              this.#order().map((card) => this.#card(card)),
            )
          : el('p', {}, t('board.no-sites')),
        el('p', { class: 'caution' }, sign('caution'), t('caution.try')),
      ),
    );
  }
}

export const openSites = (root, me) => new Sites(root, me);
