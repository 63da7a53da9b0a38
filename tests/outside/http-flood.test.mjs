// 500 bad connections at once of each kind: the phone of a good user still answers, and so does the
// stop path to it.
import assert from 'node:assert/strict';
import { randomBytes } from 'node:crypto';
import http from 'node:http';
import { connect } from 'node:net';
import { head } from './harness/api.mjs';
import { Repair } from './harness/repair.mjs';
import { delay, until } from './harness/until.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const COUNT = 500;
const AUTH = 'Host: x\r\nAuthorization: Bearer token-of-v-1\r\n';
const GET = `GET /api/juniper/position/3A HTTP/1.1\r\n${AUTH}\r\n`;
const POST = `POST /api/juniper/request/open-job HTTP/1.1\r\n${AUTH}`;

// What each kind does once it is connected.
const KINDS = {
  slow: (s, i) => s.write(i % 2 ? 'GET /api/jun' : `${POST}Content-Length: 400\r\n\r\n{`),
  dripping: (s, i) => {
    s.write(i % 2 ? 'GET /health HTTP/1.1\r\nX: ' : `${POST}Content-Length: 60000\r\n\r\n`);
    s.drip = setInterval(() => s.writable && s.write('x'), 100);
  },
  oversize: (s, i) =>
    s.write(i % 2 ? `GET /${'x'.repeat(30000)} HTTP/1.1\r\n` : `${POST}Content-Length: 900000\r\n\r\n${'{'.repeat(300000)}`),
  pipelined: (s) => s.write(GET.repeat(10)),
  'half-closed': (s, i) => s.end(['', 'GET /hea', GET, `${POST}Content-Length: 9\r\n\r\n{`][i % 4]),
  garbage: (s) => s.write(randomBytes(2000)),
  'deaf streams': (s) => {
    s.write(`GET /api/juniper/stream HTTP/1.1\r\n${AUTH}\r\n`);
    s.pause();
  },
};

// So many at once, from several addresses, each of which may have them.
function open(web, kind) {
  return Array.from({ length: COUNT }, (_, i) => {
    const localAddress = `127.0.1.${1 + (i % 4)}`;
    const s = connect({ host: web.host, port: web.port, localAddress, allowHalfOpen: true });
    s.on('error', () => {});
    s.on('close', () => clearInterval(s.drip));
    s.on('connect', () => KINDS[kind](s, i));
    s.resume();
    return s;
  });
}

function close(sockets) {
  for (const s of sockets) {
    clearInterval(s.drip);
    s.destroy();
  }
}

// A good phone asks so many times, one after the other: how long the slowest took.
async function ask(web, agent, times) {
  let slowest = 0;
  for (let i = 0; i < times; i++) {
    const asked = Date.now();
    await web.get('/api/juniper', 't-104', { agent });
    slowest = Math.max(slowest, Date.now() - asked);
    await delay(20);
  }
  return slowest;
}

const longestPause = (events) =>
  events.slice(1).reduce((most, e, i) => Math.max(most, e.at - events[i].at), 0);

scenario('500 bad ones at once of each kind', { tweak: tokens }, async (w, t) => {
  const web = new Web(w);
  const agent = new http.Agent({ keepAlive: true });
  const stream = await web.stream({ person: 't-104' });
  const job = await new Repair(w).to('working');
  const alarms = () => stream.events.filter((e) => e.event === 'alarm').length;
  for (const kind of Object.keys(KINDS)) {
    const from = stream.events.length;
    const bad = open(web, kind);
    try {
      const slowest = await ask(web, agent, 40);
      const fresh = await web.ask('GET', '/health'); // on a connection of its own
      assert.equal(fresh.status, 200, kind);
      await stream.wait(() => stream.events.length > from + 2, `${kind}: pulses`);
      const pause = longestPause(stream.events.slice(from));
      t.diagnostic(`${kind}: a good GET waited ${slowest} ms at most, a pulse ${pause} ms`);
      assert.ok(slowest < 1500, `${kind}: a good GET waited ${slowest} ms`);
      assert.ok(pause < 3000, `${kind}: the stream was silent for ${pause} ms`);
      if (kind === 'dripping') {
        await w.hw.set('3-power', 'live');
        await stream.wait(() => alarms() === 1, 'the alarm among them');
        await job.phase('stopped', 'broken');
      }
    } finally {
      close(bad);
    }
  }
  await until(
    async () => /forelock_http_connections ([1-9]|1\d)\n/.test(await web.get('/metrics')),
    'the bad ones to be forgotten',
  );
  await stream.close();
  agent.destroy();
});

scenario('500 from one address: it may have 256, others go on', { tweak: tokens }, async (w, t) => {
  const web = new Web(w);
  let gone = 0;
  const bad = Array.from({ length: COUNT }, () => {
    const s = connect({ host: web.host, port: web.port, localAddress: '127.0.2.1' });
    s.on('error', () => {});
    s.on('close', () => gone++);
    return s.resume();
  });
  t.after(() => bad.forEach((s) => s.destroy()));
  await until(() => gone >= COUNT - 256, () => `those over it to be closed; ${gone} were`);
  await web.get('/api/juniper', 't-104');
  const metrics = await web.get('/metrics');
  assert.match(metrics, /forelock_http_connections_crowded_total [1-9]/);
  assert.ok(COUNT - gone <= 256, `${COUNT - gone} are open`);
  assert.ok(COUNT - gone > 0, 'all of them were closed');
  for (const s of bad) s.destroy();
  // Closed, they count no more.
  await until(
    () => head(web, 'GET', '/health', { from: '127.0.2.1' }).catch(() => null),
    'the address to be answered again',
  );
});
