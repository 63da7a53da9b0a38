// Connections as no well-behaved client makes them: too big, too slow, broken, too many; while a good
// client goes on being answered.
import assert from 'node:assert/strict';
import http from 'node:http';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { connect as tlsConnect } from 'node:tls';
import { run } from './harness/child.mjs';
import { delay, until } from './harness/until.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens };
const AUTH = 'Host: x\r\nAuthorization: Bearer token-of-v-1\r\n';
const GET = `GET /api/juniper/position/3A HTTP/1.1\r\n${AUTH}\r\n`;
const count = (text, what) => text.split(what).length - 1;

scenario('too big', plain, async (w) => {
  const web = new Web(w);
  const note = (length) => `${JSON.stringify({ job: 'J-9', reason: 'x' })}${' '.repeat(length)}`;
  const fits = await web.post('m-1', 'cancel-job', note(65536 - note(0).length));
  assert.equal(fits.status, 409, fits.text);
  await web.problem(413, 'POST', '/api/juniper/request/cancel-job', {
    person: 'm-1',
    body: note(65536),
  });
  const huge = await web
    .ask('POST', '/api/juniper/request/cancel-job', { person: 'm-1', body: note(1 << 20) })
    .catch((e) => e);
  assert.ok(huge.status === 413 || huge instanceof Error, `${huge.status}`);
  const headers = { 'x-long': 'z'.repeat(9000) };
  const long = await web.ask('GET', '/health', { headers }).catch((e) => e);
  assert.ok([400, 413, 431].includes(long.status) || long instanceof Error);
  await web.get('/api/juniper');
});

scenario('broken', plain, async (w) => {
  const web = new Web(w);
  for (const text of [
    '\r\n\r\n\r\n',
    'GET\r\n\r\n',
    'GET / HTTP/9.9\r\n\r\n',
    'BREW /health HTTP/1.1\r\nHost: x\r\n\r\n',
    'GET /health HTTP/1.1\r\nno colon\r\n\r\n',
    'CONNECT a:1 HTTP/1.1\r\n\r\n',
    'GET http://[::1 HTTP/1.1\r\n\r\n',
    `POST /api/juniper/request/open-job HTTP/1.1\r\n${AUTH}Content-Length: -1\r\n\r\n`,
    `POST /api/juniper/request/open-job HTTP/1.1\r\n${AUTH}Transfer-Encoding: chunked\r\n\r\nZZ\r\n`,
    '\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03',
    `${'A'.repeat(20000)}`,
  ]) {
    const socket = await web.raw(text);
    socket.end();
    await socket.gone;
    assert.doesNotMatch(socket.got, /HTTP\/1\.1 200/, JSON.stringify(text));
  }
  await web.get('/api/juniper');
});

scenario('requests one behind the other in one piece', plain, async (w) => {
  const web = new Web(w);
  const socket = await web.raw(GET.repeat(20));
  await until(
    () => count(socket.got, 'HTTP/1.1 200') === 20,
    () => `20 answers; ${count(socket.got, 'HTTP/1.1 200')}`,
  );
  const body = JSON.stringify({ job: 'J-9' });
  const post = `POST /api/juniper/request/join-job HTTP/1.1\r\n${AUTH}Content-Length: ${body.length}\r\n\r\n${body}`;
  socket.write(post + GET + post);
  await until(() => count(socket.got, 'HTTP/1.1 409') === 2, 'the requests');
  assert.equal(count(socket.got, 'HTTP/1.1 200'), 21);
  socket.destroy();
});

scenario('a client that has closed its sending half is answered', plain, async (w) => {
  const web = new Web(w);
  for (let i = 0; i < 20; i++) {
    const socket = await web.raw();
    const body = JSON.stringify({ job: 'J-9' });
    socket.end(
      i % 2
        ? GET
        : `POST /api/juniper/request/join-job HTTP/1.1\r\n${AUTH}Content-Length: ${body.length}\r\n\r\n${body}`,
    );
    await socket.gone;
    assert.match(socket.got, i % 2 ? /^HTTP\/1\.1 200/ : /^HTTP\/1\.1 409/);
  }
});

scenario('clients that go while they wait for an answer', plain, async (w) => {
  const web = new Web(w);
  const body = JSON.stringify({ job: 'J-9' });
  const post = `POST /api/juniper/request/join-job HTTP/1.1\r\n${AUTH}Content-Length: ${body.length}\r\n\r\n${body}`;
  for (let i = 0; i < 100; i++) {
    const socket = await web.raw(i % 2 ? post : GET.repeat(3));
    socket.resetAndDestroy();
  }
  await web.get('/api/juniper');
});

scenario(
  '200 slow, dripping and silent ones are cut, and a good client never waits',
  plain,
  async (w) => {
    const web = new Web(w);
    const kinds = [
      '',
      'GET /health HT',
      `GET /health HTTP/1.1\r\nHost: x\r\nX-A: `,
      `POST /api/juniper/request/open-job HTTP/1.1\r\n${AUTH}Content-Length: 4000\r\n\r\n{`,
    ];
    const opened = Date.now();
    const sockets = await Promise.all(Array.from({ length: 200 }, (_, i) => web.raw(kinds[i % 4])));
    const gone = sockets.map(async (s) => {
      await s.gone;
      return Date.now() - opened;
    });
    const drip = setInterval(() => {
      for (const [i, s] of sockets.entries()) if (i % 4 && s.writable) s.write('x');
    }, 300);
    for (const s of sockets) s.on('error', () => {});
    const agent = new http.Agent({ keepAlive: true });
    let slowest = 0;
    const good = (async () => {
      while (Date.now() - opened < 12000) {
        const asked = Date.now();
        await web.get('/api/juniper', 'v-1', { agent });
        slowest = Math.max(slowest, Date.now() - asked);
        await delay(20);
      }
    })();
    await good;
    const times = await Promise.all(gone);
    clearInterval(drip);
    agent.destroy();
    assert.ok(Math.max(...times) < 20000, `the last was cut after ${Math.max(...times)} ms`);
    assert.ok(Math.min(...times) > 9000, `the first was cut after ${Math.min(...times)} ms`);
    assert.ok(slowest < 1000, `a good client waited ${slowest} ms`);
    const cut = Number(
      /forelock_http_connections_cut_total (\d+)/.exec(await web.get('/metrics'))[1],
    );
    assert.ok(cut >= 200, `${cut} cut`);
  },
);

async function certificate(w, name) {
  const files = ['-keyout', join(w.dir, 'web.key'), '-out', join(w.dir, 'web.crt')];
  const subject = ['-subj', `/CN=${name}`, '-addext', 'subjectAltName=IP:127.0.0.1'];
  const how = [
    'req',
    '-x509',
    '-days',
    '2',
    '-nodes',
    '-newkey',
    'ec',
    '-pkeyopt',
    'ec_paramgen_curve:P-256',
  ];
  const { code, err } = await run('openssl', [...how, ...subject, ...files]);
  assert.equal(code, 0, err);
  return readFileSync(join(w.dir, 'web.crt'), 'utf8');
}

const subjectNow = (web) =>
  new Promise((resolve, reject) => {
    const socket = tlsConnect({ host: web.host, port: web.port, rejectUnauthorized: false }, () => {
      resolve(socket.getPeerCertificate().subject.CN);
      socket.destroy();
    });
    socket.on('error', reject);
  });

scenario(
  'TLS: no clear text, and the certificate is read again on SIGHUP',
  {
    daemon: false,
    tweak: (plan) => {
      tokens(plan);
      Object.assign(plan.main.http, { cert_file: 'web.crt', key_file: 'web.key' });
    },
  },
  async (w) => {
    const ca = await certificate(w, 'first');
    await w.startDaemon();
    await w.startHardware();
    const web = new Web(w, { ca });
    assert.equal((await web.get('/api/juniper/position/3A')).position, '3A');
    const stream = await web.stream();
    const { headers, status } = await web.post('k-1', 'open-job', {
      job: 'J-1',
      position: '3A',
      procedure: 'boot',
    });
    assert.equal(status, 200);
    assert.match(headers['strict-transport-security'], /max-age/);
    await stream.wait(() => stream.told('job.opened').length === 1, 'the event');
    const clear = await web.raw(GET);
    clear.end();
    await clear.gone;
    assert.doesNotMatch(clear.got, /HTTP/);
    assert.equal(await subjectNow(web), 'first');
    await certificate(w, 'second');
    w.daemon.child.kill('SIGHUP');
    await until(async () => (await subjectNow(web)) === 'second', 'the new certificate');
    await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'a mistake' });
    await stream.wait(
      () => stream.told('job.cancelled').length === 1,
      'the old connection to go on',
    );
    await stream.close();
  },
);
