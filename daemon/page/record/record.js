// The printable record of a job: reads the computed record and lays it out.
import './sign-words.js';
import './record-words.js';
import { getJson } from './api.js';
import { el, replace } from './dom.js';
import { languageButtons } from './languages.js';
import { called, full, name, setClock, small, word } from './record-parts.js';
import { day } from './record-day.js';
import * as sections from './record-sections.js';
import { duration, speak, t } from './words.js';

const place = document.getElementById('record');
const [, , site, job] = location.pathname.split('/');
const api = `/api/${site}/record/${job}`;

function tools(record) {
  const file = (format, label) =>
    el(
      'a',
      {
        href: `${api}?format=${format}`,
        download: `${record.job}.${format === 'text' ? 'txt' : format}`,
      },
      label,
    );
  return el(
    'nav',
    { class: 'tools', 'aria-label': t('record.language') },
    el('button', { type: 'button', class: 'first', onclick: () => print() }, t('record.print')),
    languageButtons(() => draw(record)),
    file('csv', 'CSV'),
    file('json', 'JSON'),
    file('text', 'TXT'),
  );
}

const fact = (key, value, wide) =>
  value &&
  el('div', { class: wide ? 'wide' : null }, el('dt', {}, t(`record.${key}`)), el('dd', {}, value));

function head(record) {
  return el(
    'header',
    { class: 'head' },
    el(
      'div',
      {},
      el('p', { class: 'kicker' }, t('record.kicker')),
      el('h1', {}, record.job),
      el('p', {}, `${name(record.site, record.title)} · ${name(record.position, record.position_title)}`),
      el('p', { class: `verdict ${record.result}` }, t(`record.result-${record.result}`)),
    ),
    el('img', { class: 'code', src: `/record/${site}/${job}/code.svg`, alt: t('record.code') }),
  );
}

function facts(record) {
  const district = record.effective
    ? t('record.effective', { district: record.district, day: record.effective })
    : record.district;
  return el(
    'dl',
    { class: 'facts' },
    fact('district', district),
    fact('dispenser', record.dispenser),
    fact('products', record.products.join(', ')),
    fact('procedure', name(record.procedure, record.procedure_title)),
    fact('part', record.part),
    fact('kit', record.kit_family),
    fact('opened', `${full(record.opened)}, ${called(record.opened_by, record.opened_by_title)}`),
    fact('led', name(record.technician, record.technician_title)),
    fact(
      'ended',
      record.ended && `${full(record.ended)}, ${called(record.ended_by, record.ended_by_title)}`,
    ),
    fact('end-reason', record.end_reason),
    fact('defect', record.defect ?? '–', true),
    fact('found', record.note, true),
  );
}

function outOfService(record) {
  const out = record.out_of_service;
  const back = out.next_job
    ? t('record.next-job', { job: out.next_job })
    : out.back
      ? full(out.back)
      : t('record.not-back');
  const length = out.seconds === null ? '–' : duration(out.seconds);
  const notes = [
    out.cause && t('record.cause', { cause: word('record.cause-', out.cause) }),
    out.before_job && t('record.out-before'),
    out.unproved_before && t('record.unproved'),
    t('record.times', { zone: record.time_zone, day: full(record.opened).slice(0, 10) }),
  ].filter(Boolean);
  const cell = (key, value) => el('div', {}, el('dt', {}, t(`record.${key}`)), el('dd', {}, value));
  return el(
    'dl',
    { class: 'out' },
    cell('out', out.from ? full(out.from) : '–'),
    cell('back', back),
    cell(
      'duration',
      out.ongoing && out.seconds !== null ? t('record.so-far', { time: length }) : length,
    ),
    el('div', { class: 'why' }, el('dt', {}, notes.join(' · '))),
  );
}

function end(record) {
  const { journal } = record;
  const hash = (text) => el('span', { class: 'hash' }, text);
  return el(
    'footer',
    { class: 'end' },
    el(
      'p',
      {},
      t('record.journal', {
        first: journal.first_seq,
        last: journal.last_seq,
        instance: journal.instance,
        count: journal.facts,
      }),
      ' ',
      t('record.hash', { seq: journal.last_seq }),
      ' ',
      hash(journal.last_hash),
      '. ',
      t('record.head', { seq: journal.head_seq }),
      ' ',
      hash(journal.head_hash),
      '. ',
      t(journal.verified ? 'record.verified' : 'record.not-verified'),
      ' ',
      t('record.made', { time: full(record.made), version: record.version }),
    ),
    ['record.caution-1', 'record.caution-2', 'record.caution-3'].map((key) => el('p', {}, `${t(key)} `)),
  );
}

const review = () =>
  el(
    'div',
    { class: 'review' },
    ['record.reviewed', 'record.signature', 'record.day'].map((key) => el('span', {}, t(key))),
  );

// The foot of every printed sheet: which record it is of, and the hash that it ends with. A browser
// that knows no margin boxes leaves it out; the hash stands at the end in any case.
let sheet = null;
function feet(record) {
  const css = (text) => `"${text.replaceAll(/["\\]/g, '\\$&')}"`;
  const style = 'font: 9pt system-ui, sans-serif; vertical-align: top; padding-top: 1.5mm;';
  const left = `${record.title} · ${record.job} · #${record.journal.last_seq} ${record.journal.last_hash}`;
  const page = `${t('record.sheet')} `;
  sheet ??= [...document.styleSheets].find((s) => s.href?.endsWith('/record.css'));
  for (let i = sheet.cssRules.length; i-- > 0;)
    if (sheet.cssRules[i].cssText.includes('@bottom-')) sheet.deleteRule(i);
  sheet.insertRule(
    `@page { @bottom-left { content: ${css(left)}; ${style} } ` +
      `@bottom-right { content: ${css(page)} counter(page) " / " counter(pages); ${style} } }`,
    sheet.cssRules.length,
  );
}

function draw(record) {
  speak();
  setClock(record.time_zone, record.opened);
  document.title = t('record.page', { job: record.job });
  feet(record);
  replace(
    place,
    tools(record),
    head(record),
    facts(record),
    outOfService(record),
    el('div', { class: 'beside' }, sections.people(record), sections.phases(record)),
    sections.locks(record),
    sections.points(record),
    sections.checks(record),
    sections.tests(record),
    day(record),
    el('div', { class: 'beside told' }, sections.refusals(record), sections.alarms(record)),
    sections.stops(record),
    sections.crew(record),
    review(),
    end(record),
  );
  place.removeAttribute('aria-busy');
}

function refused(error) {
  const key =
    error.status === 404
      ? 'record.none'
      : error.status === 401 || error.status === 403
        ? 'record.denied'
        : 'record.lost';
  replace(place, el('h1', {}, t('record.kicker')), el('p', { role: 'alert' }, t(key)), small(job));
  place.removeAttribute('aria-busy');
}

speak();
document.title = t('record.kicker');
place.append(el('p', {}, t('record.loading')));
getJson(api, { timeout: 30_000 }).then(draw, refused);
