// Reading from the daemon and asking it. A request is never kept for later: it gets through while the
// person waits, or the person is told that it did not.
import { speaking } from './said.js';

const PATIENCE_MS = 10_000;
const ATTEMPT_MS = 4_000;
const PAUSE_MS = 500;

// How far the daemon's clock stands ahead of this device's, by what it said last. [ms]
let ahead = null;

function learnClock(at) {
  const time = Date.parse(at);
  if (!Number.isNaN(time)) ahead = time - Date.now();
}

// Now by the daemon's clock: a request that waits on its way is done only if it is still meant. Before the
// daemon's first word nothing is said.
const now = () => (ahead === null ? undefined : new Date(Date.now() + ahead).toISOString());

// GET of a document; throws {status} where it is refused, and what fetch throws where nothing comes.
export async function getJson(path, { timeout = ATTEMPT_MS * 2 } = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), timeout);
  try {
    const response = await fetch(path, {
      headers: { accept: 'application/json' },
      credentials: 'same-origin',
      cache: 'no-store',
      signal: stop.signal,
    });
    if (!response.ok) throw Object.assign(new Error(path), { status: response.status });
    const document = await response.json();
    if (path.endsWith('/gate')) learnClock(document.at);
    return speaking(document);
  } finally {
    clearTimeout(timer);
  }
}

// A fresh id for each press: the daemon does nothing twice under one id. Works without TLS too, where
// crypto.randomUUID does not.
export function freshId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
}

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

// One attempt: {answer}, {status} or null when nothing came.
async function attempt(path, text, left) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), Math.min(ATTEMPT_MS, left));
  try {
    const response = await fetch(path, {
      method: 'POST',
      headers: { 'content-type': 'application/json', accept: 'application/json' },
      credentials: 'same-origin',
      cache: 'no-store',
      body: text,
      signal: stop.signal,
    });
    const body = await response.json().catch(() => null);
    if (body && typeof body.accepted === 'boolean') {
      learnClock(body.at);
      return { answer: body };
    }
    return { status: response.status };
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}

// A plain "no" that asking again does not change; everything else (too many, something short, a
// proxy's error) is asked again while there is time.
const final = (status) => status >= 400 && status < 500 && status !== 408 && status !== 429;

// Asks with one id until an answer came or the time is up: {outcome: 'answered', answer},
// {outcome: 'denied', status} or {outcome: 'lost'}. After 'lost' nothing is under way any more.
export async function ask(site, verb, body, { patience = PATIENCE_MS } = {}) {
  const path = `/api/${encodeURIComponent(site)}/request/${verb}`;
  const text = JSON.stringify({ id: freshId(), asked: now(), ...body });
  const end = performance.now() + patience;
  for (;;) {
    const left = end - performance.now();
    if (left <= 0) return { outcome: 'lost' };
    const got = await attempt(path, text, left);
    if (got?.answer) return { outcome: 'answered', answer: got.answer };
    if (got && final(got.status)) return { outcome: 'denied', status: got.status };
    await pause(Math.min(PAUSE_MS, Math.max(0, end - performance.now())));
  }
}
