// Enrollment: the token of the link goes from the address bar into a cookie that no script can read,
// and the page says in large letters whose phone this is now.
import { el, replace } from './dom.js';
import { languageButtons } from './languages.js';
import { speak, t } from './words.js';
import './enroll-words.js';

const page = document.getElementById('page');
const json = { Accept: 'application/json' };
let shown = { what: 'working' };

// The token is taken out of the address at once: it stays in no history and on no screenshot.
function takeToken() {
  const text = location.hash.slice(1);
  const plain = new URL(location.href);
  plain.hash = '';
  plain.searchParams.delete('token'); // one that was of nobody
  if (plain.href !== location.href) history.replaceState(null, '', plain);
  try {
    return decodeURIComponent(text);
  } catch {
    return text; // a broken escape: a token of nobody
  }
}

const ask = (path, options) => fetch(path, { headers: json, cache: 'no-store', ...options });

const post = (token) =>
  ask('/enroll', {
    method: 'POST',
    headers: { ...json, 'Content-Type': 'application/x-www-form-urlencoded' },
    body: `token=${encodeURIComponent(token)}`,
  });

const languages = () => el('div', { class: 'languages' }, languageButtons(draw));

const card = (tone, title, ...inside) =>
  el('section', { class: 'card' },
    el('h1', { class: `signal ${tone}` }, title),
    el('div', { class: 'inside' }, ...inside));

const site = ({ site: id, title }) =>
  el('li', {}, el('a', { class: 'button', href: `/board/${encodeURIComponent(id)}` }, title));

const enrolled = ({ title, person, roles, sites }) => [
  card('on-safe', t('enroll.is'),
    el('p', {}, t('enroll.as')),
    el('p', { class: 'who', id: 'who' }, title === person ? title : `${title} (${person})`),
    el('p', {}, t('enroll.roles', { roles: roles.map((r) => t(`role.${r}`)).join(', ') || '–' })),
    el('p', {}, t('enroll.not-you'))),
  card('on-notice', t('enroll.sites'),
    sites.length ? el('ul', { class: 'sites' }, sites.map(site)) : el('p', {}, t('enroll.no-sites'))),
  el('a', { class: 'button first', href: '/board' }, t('enroll.board')),
  el('button', { type: 'button', id: 'forget', onclick: forget }, t('enroll.forget')),
];

const notEnrolled = (title, why) => [
  card('on-notice', title,
    why && el('p', { role: 'alert', id: 'why' }, why),
    el('p', {}, t('enroll.how')),
    el('p', {}, t('enroll.live'))),
];

// A link that somebody sent must not make a person's phone another's unasked.
const another = ({ who, next, token }) => [
  card('on-warning', t('enroll.another'),
    el('p', {}, t('enroll.now', { who: who.title })),
    el('p', {}, t('enroll.next')),
    el('p', { class: 'who', id: 'next' },
      next.title === next.person ? next.title : `${next.title} (${next.person})`)),
  el('button', { type: 'button', class: 'button first', id: 'keep', onclick: () => show('enrolled', { who }) },
    t('enroll.keep', { who: who.title })),
  el('button', { type: 'button', id: 'change', onclick: () => enroll(token) },
    t('enroll.change', { who: next.title })),
];

const DRAWN = {
  another,
  working: () => [card('on-none', t('enroll.working'))],
  enrolled: ({ who }) => enrolled(who),
  forgotten: () => notEnrolled(t('enroll.forgotten')),
  none: () => notEnrolled(t('enroll.is-not')),
  bad: () => notEnrolled(t('enroll.is-not'), t('enroll.bad')),
  slow: () => notEnrolled(t('enroll.is-not'), t('enroll.slow')),
  away: () => notEnrolled(t('enroll.title'), t('enroll.away')),
};

function draw() {
  speak();
  document.title = t(shown.what === 'enrolled' ? 'enroll.is' : 'enroll.title');
  replace(page, ...DRAWN[shown.what](shown), languages());
}

function show(what, more) {
  shown = { what, ...more };
  draw();
}

async function forget() {
  document.getElementById('forget').disabled = true;
  const answer = await post('').catch(() => null);
  show(answer?.ok ? 'forgotten' : 'away');
}

async function outcome(answer, token) {
  if (answer?.ok) show('enrolled', { who: await answer.json() });
  else if (answer?.status === 401) show(token ? 'bad' : 'none');
  else if (answer?.status === 429) show('slow');
  else show('away');
}

async function enroll(token) {
  show('working');
  await outcome(await post(token).catch(() => null), token);
}

async function begin() {
  const token = takeToken();
  show('working');
  const now = await ask('/api').catch(() => null);
  if (!token) return outcome(now);
  if (!now?.ok) return enroll(token);
  const bearer = { headers: { ...json, Authorization: `Bearer ${token}` } };
  const then = await ask('/api', bearer).catch(() => null);
  if (!then?.ok) return outcome(then, token);
  const [who, next] = [await now.json(), await then.json()];
  if (who.person === next.person) return enroll(token);
  return show('another', { who, next, token });
}

addEventListener('hashchange', () => location.hash && begin());
begin();
