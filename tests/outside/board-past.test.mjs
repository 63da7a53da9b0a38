// The past on the board: a timeline that is what happened, as a picture, a table and a file.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { boardScenario, says } from './harness/board.mjs';
import { Repair } from './harness/repair.mjs';

const since = () => `from=${encodeURIComponent(new Date(Date.now() - 3600_000).toISOString())}`;

// When things happened to a position, as the journal tells it.
async function instants(w, position) {
  const at = {};
  for (const line of await w.journal())
    if (line.data?.position === position)
      (at[line.type.replace('forelock.', '')] ??= []).push(line.at);
  return at;
}

const spansOf = async (w, position) => {
  const { positions } = await w.web.get(`/api/juniper/timeline?${since()}`);
  return positions.find((p) => p.position === position).spans;
};

const brief = (spans) =>
  spans.map((s) => [s.state, s.cause, s.job].filter((x) => x !== null).join(' '));

boardScenario('spans are what happened', {}, async (w) => {
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped');
  await job.proveAgain();
  await job.acknowledge();
  await job.start();
  job.at = 'working';
  await job.to('returned');
  await w.position('3A', (d) => d.service === 'in-service');
  await w.position('3B', (d) => d.service === 'in-service');
  const spans = await spansOf(w, '3A');
  assert.deepEqual(brief(spans), [
    'unknown',
    'out unknown',
    'in-service',
    'out job J-1',
    'working job J-1',
    'stopped job J-1',
    'working job J-1',
    'out job J-1',
    'testing job J-1',
    'in-service',
  ]);
  const at = await instants(w, '3A');
  assert.deepEqual(
    spans.slice(2).map((s) => s.from),
    [
      at['position.returned'][0],
      at['job.opened'][0],
      at['work.started'][0],
      at['work.stopped'][0],
      at['work.started'][1],
      at['work.finished'][0],
      at['test.begun'][0],
      at['job.returned'][0],
    ],
  );
  spans.slice(1).forEach((s, i) => assert.equal(s.from, spans[i].to, 'a gap'));
  assert.deepEqual(
    spans.map((s) => s.ongoing),
    spans.map((s, i) => i === spans.length - 1),
  );
  // It went out as the points were isolated, before a lock told for whom.
  const neighbor = brief(await spansOf(w, '3B'));
  assert.deepEqual(neighbor.slice(2), ['in-service', 'out isolated', 'in-service']);
  // The same as a file, by a link and by a header.
  const { text, headers } = await w.web.ask('GET', `/api/juniper/timeline?${since()}&format=csv`, {
    person: 'v-1',
  });
  assert.match(headers['content-type'], /^text\/csv/);
  const [head, ...rows] = text.trimEnd().split('\r\n');
  assert.equal(head, 'position,from,to,seconds,ongoing,state,job,cause');
  const mine = rows.filter((r) => r.startsWith('3A,')).map((r) => r.split(','));
  assert.deepEqual(
    mine.map((r) => r[5]),
    spans.map((s) => s.state),
  );
  const work = mine.find((r) => r[5] === 'working');
  assert.deepEqual(work.slice(1, 3), [at['work.started'][0], at['work.stopped'][0]]);
  assert.equal(Number(work[3]) * 1000, Date.parse(work[2]) - Date.parse(work[1]));
  const { text: again } = await w.web.ask('GET', `/api/juniper/timeline?${since()}`, {
    person: 'v-1',
    headers: { accept: 'text/csv' },
  });
  assert.equal(again.split('\r\n')[0], head);
  // Time to repair: from the opening to the return.
  const { repairs } = await w.web.get(`/api/juniper/downtime?${since()}`);
  const took = (Date.parse(at['job.returned'][0]) - Date.parse(at['job.opened'][0])) / 1000;
  assert.deepEqual(repairs, { count: 1, mean_s: took, longest_s: took });
  for (const bad of ['from=yesterday', 'format=xml', `${since()}&to=1999-01-01T00:00:00Z`])
    await w.web.problem(400, 'GET', `/api/juniper/timeline?${bad}`, { person: 'v-1' });
});

boardScenario('the picture, its table, totals and files', {}, async (w) => {
  await new Repair(w).to('returned');
  await new Repair(w, { job: 'J-4', position: '4A', leader: 't-105' }).to('working');
  const page = await w.board('m-1');
  const states = (position) =>
    page
      .locator(`.band[data-position="${position}"] g`)
      .evaluateAll((all) => all.map((g) => g.dataset.state).sort());
  await page.waitForSelector('.band[data-position="4A"] [data-state="working"]');
  const told = await spansOf(w, '3A');
  assert.deepEqual(await states('3A'), told.map((s) => s.state).sort());
  await says(page.locator('.legend li'), /in service/, /work stopped/, /before the journal/);
  const label = await page.locator('.band[data-position="3A"] svg').getAttribute('aria-label');
  assert.match(label, /^3A: .*work \d+ s.*test \d+ s/);
  // Without the picture: the same spans in a table, and nothing that only color tells.
  await page.click('summary');
  const rows = page.locator('.past details tbody tr');
  const ofThree = await rows.filter({ hasText: '3A' }).count();
  assert.equal(ofThree, told.length);
  await says(rows.filter({ hasText: 'J-4' }), /\bwork/);
  // A change is in the picture without a reload.
  await w.hw.set('4-power', 'live');
  await page.waitForSelector('.band[data-position="4A"] [data-state="stopped"]');
  assert.equal(await page.locator('.past details').getAttribute('open'), '');
  // Totals are those of the daemon.
  const { positions } = await w.web.get(`/api/juniper/downtime?${since()}`);
  const times = positions.find((p) => p.position === '3A').intervals.length;
  const total = page.locator('.by-position tbody tr').filter({ hasText: /^3A/ });
  assert.equal(await total.locator('td').last().textContent(), String(times));
  await says(page.locator('.by-cause'), /own job/);
  await says(page.locator('.by-position thead'), /Share of the period/);
  await says(page.locator('.by-cause thead'), /Share of the downtime/);
  await says(page.locator('.repairs'), /Repairs ended\s*1/);
  // Week and month are other periods of the same; a link brings the file of what is chosen.
  await page.click('[data-key="period-week"]');
  await page.waitForSelector('[data-key="period-week"][aria-pressed="true"]');
  const began = (await w.web.get('/api/juniper')).at;
  const range = page.locator('.range');
  const day = (ms) =>
    new Date(ms).toLocaleDateString('en', { day: 'numeric', month: 'short', timeZone: 'UTC' });
  await says(range, day(Date.parse(began) - 7 * 24 * 3600_000));
  for (const what of ['timeline', 'downtime']) {
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.click(`a[data-file="${what}"]`),
    ]);
    assert.equal(download.suggestedFilename(), `juniper-${what}-week.csv`);
    assert.match(readFileSync(await download.path(), 'utf8'), /^position,from,to,seconds,ongoing,/);
  }
});

// The axis is marked where days begin at the site, also where a day has 25 hours.
boardScenario('days begin where the site is', {}, async (w) => {
  const page = await w.board('v-1');
  const ticks = await page.evaluate(async () => {
    const { ticksOf } = await import('/static/board-timeline.js');
    const at = (text) => Date.parse(text);
    return {
      week: ticksOf(at('2026-10-30T12:00Z'), at('2026-11-03T12:00Z'), 'week', 'America/Denver'),
      day: ticksOf(at('2026-06-01T00:00Z'), at('2026-06-02T00:00Z'), 'day', 'Asia/Kolkata'),
    };
  });
  const times = (list) => list.map((ms) => new Date(ms).toISOString().slice(5, 16));
  assert.deepEqual(times(ticks.week), ['10-31T06:00', '11-01T06:00', '11-02T07:00', '11-03T07:00']);
  assert.deepEqual(times(ticks.day), ['06-01T00:30', '06-01T06:30', '06-01T12:30', '06-01T18:30']);
});
