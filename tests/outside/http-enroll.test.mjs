// Enrollment: the cookie and what it is good for, who may set it, and how it ends.
import assert from 'node:assert/strict';
import { head, reload } from './harness/api.mjs';
import { openBrowser } from './harness/browser.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { Web, tokenOf, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens };
const FORM = { 'content-type': 'application/x-www-form-urlencoded' };
const JSON_IN = { 'content-type': 'application/json' };
const JSON_OUT = { accept: 'application/json' };
const personOf = (w, id) => w.plan.people.find((p) => p.person === id);

const enroll = (web, body, headers = FORM, more = {}) =>
  head(web, 'POST', '/enroll', { headers, body, ...more });

function cookieOf(answer) {
  const [cookie, ...rest] = answer.headers['set-cookie'] ?? [];
  assert.ok(cookie && rest.length === 0, 'one cookie');
  const [pair, ...attributes] = cookie.split('; ');
  return { pair, attributes: attributes.sort() };
}

scenario('a good token becomes a cookie that only the browser keeps', plain, async (w) => {
  const web = new Web(w);
  const token = tokenOf('t-104');
  for (const answer of [
    await enroll(web, `token=${token}`),
    await enroll(web, `x=1&token=${encodeURIComponent(token)}`),
    await enroll(web, JSON.stringify({ token }), JSON_IN),
    await head(web, 'GET', `/enroll?token=${token}`),
  ]) {
    assert.equal(answer.status, 303, answer.text);
    assert.equal(answer.headers.location, '/board');
    const { pair, attributes } = cookieOf(answer);
    assert.equal(pair, `forelock=${token}`);
    assert.deepEqual(attributes, [
      'HttpOnly',
      'Max-Age=15552000',
      'Path=/',
      'SameSite=Strict',
      'Secure',
    ]);
    assert.equal(answer.headers['cache-control'], 'no-store');
    const about = await head(web, 'GET', '/api', { cookie: pair });
    assert.equal(JSON.parse(about.text).person, 't-104');
  }
  const shown = await enroll(web, `token=${token}`, { ...FORM, ...JSON_OUT });
  assert.equal(shown.status, 200);
  assert.equal(cookieOf(shown).pair, `forelock=${token}`);
  assert.deepEqual(JSON.parse(shown.text).sites, [
    { site: 'juniper', title: 'Juniper Crossing', time_zone: 'UTC' },
  ]);
});

scenario('a bad one does not, and an empty one forgets', plain, async (w) => {
  const web = new Web(w);
  for (const body of ['token=token-of-nobody', `token=${'x'.repeat(500)}`]) {
    const page = await enroll(web, body);
    assert.equal(page.status, 401);
    assert.match(page.headers['content-type'], /^text\/html/);
    const problem = await enroll(web, body, { ...FORM, ...JSON_OUT });
    assert.equal(problem.status, 401);
    assert.match(problem.headers['content-type'], /^application\/problem\+json/);
    for (const answer of [page, problem]) assert.equal(answer.headers['set-cookie'], undefined);
  }
  for (const [body, headers] of [
    ['', FORM],
    ['nothing=1', FORM],
    ['token=%zz', FORM],
    ['{"token":', JSON_IN],
    ['{"token":1}', JSON_IN],
    ['[]', JSON_IN],
    [`token=${'x'.repeat(5000)}`, FORM],
  ])
    assert.equal((await enroll(web, body, headers)).status, 400, body.slice(0, 40));
  assert.equal((await head(web, 'GET', '/enroll?token=nobody')).status, 401);
  // Not even a good one where a page elsewhere leads to it: it would make the phone somebody else's.
  for (const site of ['cross-site', 'same-site']) {
    const headers = { 'sec-fetch-site': site };
    const led = await head(web, 'GET', `/enroll?token=${tokenOf('t-104')}`, { headers });
    assert.deepEqual([led.status, led.headers['set-cookie']], [403, undefined]);
  }
  assert.ok(!w.daemon.err.includes(tokenOf('t-104')), 'a token in the log');
  for (const answer of [await enroll(web, 'token='), await enroll(web, '{"token":""}', JSON_IN)]) {
    assert.deepEqual([answer.status, answer.headers.location], [303, '/enroll']);
    const { pair, attributes } = cookieOf(answer);
    assert.equal(pair, 'forelock=');
    assert.ok(attributes.includes('Max-Age=0') && attributes.includes('Path=/'), attributes.join());
  }
});

scenario('with a cookie, only pages of the daemon may ask', plain, async (w) => {
  const web = new Web(w);
  const host = `${web.host}:${web.port}`;
  const post = (headers) =>
    head(web, 'POST', '/api/juniper/request/join-job', {
      headers: { ...JSON_IN, ...headers },
      cookie: `forelock=${tokenOf('t-104')}`,
      body: '{"job":"J-9"}',
    });
  const good = [
    { 'sec-fetch-site': 'same-origin', origin: 'http://anything' },
    { 'sec-fetch-site': 'none' },
    { origin: `http://${host}` },
    { origin: `https://${host}` },
  ];
  const bad = [
    {},
    { 'sec-fetch-site': 'same-site', origin: `http://${host}` },
    { 'sec-fetch-site': 'cross-site', origin: `http://${host}` },
    { origin: 'http://elsewhere.example' },
    { origin: `http://${host}.elsewhere.example` },
    { origin: 'null' },
  ];
  for (const headers of good) assert.equal((await post(headers)).status, 409);
  for (const headers of bad) {
    const answer = await post(headers);
    assert.equal(answer.status, 403, JSON.stringify(headers));
    assert.equal(JSON.parse(answer.text).status, 403);
  }
  // Reading is no matter: a page elsewhere does not see what it gets. A bearer token needs none of it.
  const got = await head(web, 'GET', '/api', {
    cookie: `forelock=${tokenOf('t-104')}`,
    headers: { 'sec-fetch-site': 'cross-site' },
  });
  assert.equal(got.status, 200);
  const bearer = await web.post('t-104', 'join-job', { job: 'J-9' });
  assert.equal(bearer.status, 409);
  // Nobody elsewhere enrolls a phone as somebody, nor forgets it.
  for (const body of [`token=${tokenOf('m-1')}`, 'token='])
    for (const headers of bad.slice(1)) {
      const answer = await enroll(web, body, { ...FORM, ...headers });
      assert.deepEqual([answer.status, answer.headers['set-cookie']], [403, undefined]);
    }
});

scenario('revocation: on SIGHUP the token ends, and every stream of it', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('open');
  const leaving = await Promise.all(
    Array.from({ length: 5 }, () => web.stream({ person: 't-105' })),
  );
  const staying = await web.stream({ person: 't-104' });
  const gone = Promise.all(leaving.map((s) => s.gone));
  delete personOf(w, 't-105').token_sha256;
  // A role is no matter of SIGHUP: only a restart changes what somebody may.
  personOf(w, 'v-1').roles = ['manager'];
  reload(w);
  await gone;
  await web.problem(401, 'GET', '/api/juniper', { person: 't-105' });
  const pulses = staying.events.length;
  await staying.wait(() => staying.events.length > pulses + 1, 'the others to go on');
  assert.deepEqual((await web.get('/api', 'v-1')).roles, ['viewer']);
  // Given a new one, they are back, and the old one stays dead.
  personOf(w, 't-105').token_sha256 = personOf(w, 't-104').token_sha256.replace(/^./, 'x');
  reload(w); // which is an error: as before
  await until(() => /tokens from before are kept/.test(w.daemon.err), 'the error');
  assert.equal((await web.get('/api', 't-104')).person, 't-104');
  tokens({ people: [personOf(w, 't-105')] });
  delete personOf(w, 's-2').token_sha256;
  reload(w);
  await until(
    async () => (await web.ask('GET', '/api', { person: 't-105' })).status === 200,
    'the new token',
  );
  await web.problem(401, 'GET', '/api', { person: 's-2' });
  await staying.close();
});

scenario('one address: wrong tokens, connections and requests', plain, async (w) => {
  const web = new Web(w);
  const from = '127.0.0.7';
  const wrong = () => head(web, 'GET', '/api', { token: 'token-of-nobody', from });
  const statuses = [];
  for (let i = 0; i < 14; i++) statuses.push((await wrong()).status);
  assert.ok(statuses.filter((s) => s === 401).length >= 10, statuses.join());
  assert.equal(statuses.at(-1), 429);
  const last = await wrong();
  assert.match(last.headers['retry-after'], /^\d+$/);
  const tried = await enroll(web, 'token=nobody', { ...FORM, ...JSON_OUT }, { from });
  assert.equal(tried.status, 429);
  // A colleague behind the same address goes on, and so does everybody else.
  assert.equal((await head(web, 'GET', '/api', { token: tokenOf('t-104'), from })).status, 200);
  const next = await head(web, 'GET', '/api', { token: 'token-of-nobody', from: '127.0.0.8' });
  assert.equal(next.status, 401);
  const flood = await Promise.all(
    Array.from({ length: 200 }, async () => {
      const got = [];
      for (let i = 0; i < 12; i++)
        got.push(
          (await head(web, 'GET', '/health', { from: '127.0.0.9' }).catch(() => null))?.status,
        );
      return got;
    }),
  );
  assert.ok(flood.flat().includes(200));
  assert.equal((await head(web, 'GET', '/health', { from: '127.0.0.8' })).status, 200);
  const metrics = await web.get('/metrics');
  assert.match(metrics, /forelock_http_limited_total [1-9]/);
});

// In a browser, as a person does it.
async function browse(body) {
  const browser = await openBrowser();
  try {
    const page = await browser.page(null);
    await body(page.context(), page);
  } finally {
    await browser.close();
  }
}

scenario(
  'a phone is enrolled by its link, says whose it is, and is forgotten',
  plain,
  async (w) => {
    const web = new Web(w);
    const base = `http://${web.host}:${web.port}`;
    await browse(async (context, page) => {
      const loud = [];
      page.on(
        'console',
        (m) => /Content Security Policy|Refused/.test(m.text()) && loud.push(m.text()),
      );
      const shell = await page.goto(`${base}/board`);
      assert.equal(shell.status(), 401);
      await page.getByRole('heading', { name: 'This phone is not enrolled' }).waitFor();
      await page.goto(`${base}/enroll#${tokenOf('t-104')}`);
      await page.getByRole('heading', { name: 'This phone is enrolled' }).waitFor();
      assert.equal(await page.locator('#who').textContent(), 'Person t-104 (t-104)');
      assert.ok(!page.url().includes(tokenOf('t-104')), page.url());
      assert.equal(await page.evaluate(() => document.cookie), '');
      const [cookie] = await context.cookies();
      assert.deepEqual(
        [cookie.name, cookie.secure, cookie.httpOnly, cookie.sameSite],
        ['forelock', true, true, 'Strict'],
      );
      await page.getByRole('button', { name: 'Español' }).click();
      await page.getByRole('heading', { name: 'Este teléfono está inscrito' }).waitFor();
      assert.equal(await page.evaluate(() => document.documentElement.lang), 'es');
      const wide = await page.evaluate(() => document.documentElement.scrollWidth > innerWidth);
      assert.equal(wide, false, 'it scrolls sideways');
      await page.getByRole('button', { name: 'Olvidar este teléfono' }).click();
      await page.getByRole('heading', { name: 'Este teléfono fue olvidado' }).waitFor();
      assert.deepEqual(await context.cookies(), []);
      await page.goto(`${base}/enroll?lang=en#token-of-nobody`);
      await page.getByText('This link is of nobody known here').waitFor();
      assert.deepEqual(loud, []);
    });
  },
);

scenario('a link of another person changes nothing unasked', plain, async (w) => {
  const web = new Web(w);
  const base = `http://${web.host}:${web.port}`;
  await browse(async (context, page) => {
    const cookieIs = async (person) => {
      const [cookie] = await context.cookies();
      assert.equal(cookie.value, tokenOf(person));
    };
    await page.goto(`${base}/enroll#${tokenOf('t-104')}`);
    await page.getByRole('heading', { name: 'This phone is enrolled' }).waitFor();
    // A new document, as a scanned code opens one.
    const open = async (token) => {
      await page.goto('about:blank');
      await page.goto(`${base}/enroll#${token}`);
    };
    await open(tokenOf('t-105'));
    await page.getByRole('heading', { name: "Another person's link" }).waitFor();
    assert.equal(await page.locator('#next').textContent(), 'Person t-105 (t-105)');
    await cookieIs('t-104');
    await page.getByRole('button', { name: 'Keep it for Person t-104' }).click();
    await page.getByRole('heading', { name: 'This phone is enrolled' }).waitFor();
    assert.equal(await page.locator('#who').textContent(), 'Person t-104 (t-104)');
    await cookieIs('t-104');
    await open('of-nobody');
    await page.getByText('This link is of nobody known here').waitFor();
    await cookieIs('t-104');
    await open(tokenOf('t-105'));
    await page.getByRole('button', { name: 'Enroll it for Person t-105' }).click();
    await page.getByText('Person t-105 (t-105)').waitFor();
    await page.getByRole('heading', { name: 'This phone is enrolled' }).waitFor();
    await cookieIs('t-105');
  });
});

scenario('with the link of somebody of no site', plain, async (w) => {
  const web = new Web(w);
  const base = `http://${web.host}:${web.port}`;
  await browse(async (context, page) => {
    await page.setViewportSize({ width: 360, height: 740 });
    await page.goto(`${base}/enroll#${tokenOf('t-108')}`);
    await page.getByText('None of the sites of this daemon are yours.').waitFor();
    const there = await page.goto(`${base}/at/juniper/3A`);
    assert.equal(there.status(), 403);
    await page.getByRole('heading', { name: 'This site is not one of yours' }).waitFor();
    const nowhere = await page.goto(`${base}/board/nowhere`);
    assert.equal(nowhere.status(), 404);
    await page.getByRole('heading', { name: 'There is nothing here' }).waitFor();
  });
});
