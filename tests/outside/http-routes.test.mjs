// Every route × every role × no token × one of nobody × one that was revoked × somebody of another
// site. The table is the API's own document: a route that it lacks fails.
import assert from 'node:assert/strict';
import test from 'node:test';
import { fill, head, operations, reload, routes } from './harness/api.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { Web, tokenOf, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const ROLE = {
  technician: 't-104',
  supervisor: 's-1',
  manager: 'm-1',
  tracker: 'k-1',
  viewer: 'v-1',
};
const POLICY =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
  "font-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
const isOpen = ({ operation }) => operation.security.length === 0;
const isPage = ({ operation }) => 'text/html' in (operation.responses['200']?.content ?? {});
const guarded = operations.filter((o) => !isOpen(o));
const name = ({ method, path }) => `${method} ${path}`;

test('the document and the program have the same routes', () => {
  const documented = operations.map(
    ({ method, path }) => `${method} ${path.replace(/\{\w+\}/g, '{}')}`,
  );
  const served = routes().flatMap(({ methods, path }) => methods.map((m) => `${m} ${path}`));
  assert.deepEqual([...new Set(documented)].sort(), served.sort());
});

// A job that is stopped, so that there is one of everything.
async function setUp(w) {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const { alarm } = await job.alarm();
  const web = new Web(w);
  // A request is of a job that there is not, so that it changes nothing.
  const ask = (operation, { job = 'J-9', ...options } = {}, values = {}) => {
    const post = operation.method === 'POST';
    const json = { 'content-type': 'application/json', ...options.headers };
    return head(web, operation.method, fill(operation.path, { alarm, ...values }), {
      ...options,
      headers: post ? json : options.headers,
      body: post ? JSON.stringify({ job }) : undefined,
    });
  };
  return { web, ask };
}

function assertRefused(operation, answer, status) {
  assert.equal(answer.status, status, `${name(operation)}: ${answer.text.slice(0, 300)}`);
  const page = isPage(operation);
  assert.match(
    answer.headers['content-type'],
    page ? /^text\/html/ : /^application\/(problem\+)?json$/,
    name(operation),
  );
  if (page) assert.equal(answer.headers['content-security-policy'], POLICY);
  if (status === 401) assert.match(answer.headers['www-authenticate'], /^Bearer/);
}

scenario('who is not known sees nothing', { tweak: tokens }, async (w) => {
  const { ask } = await setUp(w);
  const leaver = w.plan.people.find((p) => p.person === 's-2');
  assert.ok(guarded.length > 15);
  delete leaver.token_sha256;
  reload(w);
  const [board] = guarded.filter((o) => o.path === '/board');
  await until(
    async () => (await ask(board, { token: tokenOf('s-2') })).status === 401,
    'the token to be revoked',
  );
  for (const operation of guarded)
    for (const how of [
      {},
      { token: 'token-of-nobody' },
      { token: tokenOf('s-2') },
      { cookie: `forelock=${tokenOf('s-2')}` },
      { cookie: 'forelock=' },
      { cookie: 'forelock=token-of-nobody' },
      // A wrong header is never passed over for a good cookie.
      { token: 'token-of-nobody', cookie: `forelock=${tokenOf('m-1')}` },
      { headers: { authorization: `Basic ${tokenOf('m-1')}` } },
    ])
      assertRefused(operation, await ask(operation, how), 401);
});

scenario('every role on every route', { tweak: tokens }, async (w) => {
  const { ask } = await setUp(w);
  for (const operation of guarded)
    for (const [role, person] of Object.entries(ROLE))
      for (const how of [
        { token: tokenOf(person) },
        { cookie: `a=b; forelock=${tokenOf(person)}`, headers: { 'sec-fetch-site': 'same-origin' } },
      ]) {
        const answer = await ask(operation, how);
        if (!operation.operation['x-roles'].includes(role)) assertRefused(operation, answer, 403);
        else if (operation.method === 'POST') assert.equal(answer.status, 409, answer.text);
        else assert.equal(answer.status, 200, `${name(operation)} as ${role}: ${answer.text}`);
      }
});

scenario('somebody of another site, and a site that there is not', { tweak: tokens }, async (w) => {
  const { web, ask } = await setUp(w);
  const stranger = { token: tokenOf('t-108'), job: 'J-1' };
  for (const operation of guarded) {
    const mine = operation.operation['x-roles'].includes('technician');
    if (operation.path.includes('{site}')) {
      assertRefused(operation, await ask(operation, stranger), 403);
      const nowhere = await ask(operation, { token: tokenOf('m-1') }, { site: 'elsewhere' });
      assertRefused(operation, nowhere, 404);
    } else assert.equal((await ask(operation, stranger)).status, mine ? 200 : 403);
  }
  const about = await web.get('/api', 't-108');
  assert.deepEqual(about.sites, []);
});

scenario('open routes, other methods and HEAD', { tweak: tokens }, async (w) => {
  const { web, ask } = await setUp(w);
  for (const operation of operations.filter(isOpen)) {
    if (operation.method === 'POST') continue; // enrollment has its own scenarios
    const { status } = await ask(operation);
    assert.ok([200, 303].includes(status), `${name(operation)}: ${status}`);
  }
  const token = tokenOf('m-1');
  for (const path of new Set(operations.map((o) => o.path))) {
    const here = operations.filter((o) => o.path === path);
    const { headers, status } = await ask({ method: 'DELETE', path }, { token });
    assert.equal(status, 405, path);
    const allowed = here.flatMap((o) => (o.method === 'GET' ? ['GET', 'HEAD'] : [o.method]));
    assert.deepEqual(headers.allow.split(', ').sort(), allowed.sort(), path);
    if (!here.some((o) => o.method === 'GET')) continue;
    const got = await ask({ method: 'GET', path }, { token });
    const without = await ask({ method: 'HEAD', path }, { token });
    assert.deepEqual([without.status, without.text], [got.status, ''], path);
    assert.equal(without.headers['content-type'], got.headers['content-type'], path);
  }
  const root = await head(web, 'GET', '/');
  assert.deepEqual([root.status, root.headers.location], [303, '/board']);
});

scenario('pages and their files', { tweak: tokens }, async (w) => {
  const { web, ask } = await setUp(w);
  const token = tokenOf('t-104');
  const files = new Set();
  for (const operation of operations.filter(isPage)) {
    const { status, headers, text } = await ask(operation, { token });
    assert.equal(status, 200, operation.path);
    assert.equal(headers['content-security-policy'], POLICY);
    assert.equal(headers['x-content-type-options'], 'nosniff');
    assert.equal(headers['referrer-policy'], 'no-referrer');
    assert.equal(headers['cache-control'], 'no-cache');
    assert.doesNotMatch(text, /<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=|https?:\/\//i);
    for (const [, file] of text.matchAll(/(?:src|href)="([^"#]+)"/g)) files.add(file);
    const again = await ask(operation, { token, headers: { 'if-none-match': headers.etag } });
    assert.deepEqual([again.status, again.text], [304, '']);
    const other = await ask(operation, { token, headers: { 'if-none-match': '"x"' } });
    assert.equal(other.status, 200);
  }
  assert.ok(files.size > 3);
  for (const file of files) {
    const { status, headers, text } = await head(web, 'GET', file);
    assert.equal(status, 200, file);
    assert.equal(headers['cache-control'], 'no-cache');
    for (const [, more] of text.matchAll(/(?:from|import) '\.\/([\w.-]+)'/g))
      files.add(`/static/${more}`); // a set's loop comes to what is added too
    assert.equal((await head(web, 'GET', file, { headers: { 'if-none-match': headers.etag } })).status, 304);
  }
  for (const path of ['/static/at.html', '/static/nothing.js', '/static/..%2fat.js', '/static/'])
    assert.equal((await head(web, 'GET', path, { token })).status, 404, path);
  const unknown = await head(web, 'GET', '/at/juniper/8Z', { token });
  assert.equal(unknown.status, 404);
  assert.match(unknown.headers['content-type'], /^text\/html/);
});
