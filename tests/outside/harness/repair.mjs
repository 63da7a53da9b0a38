// An honest crew's steps through a repair, so that a scenario can begin where its subject begins. Each
// step uses requests only and waits for what a person would look at before going on.
const READINGS = {
  drained: { value: 1.5, unit: 'L' },
  'no-voltage': { value: 0.2, unit: 'V' },
  'spout-nut': { value: 45, unit: 'N.m', instrument: 'tw-3' },
};
const SIGNER = { 'site-told': 'm-1' };
const PASSING = { continuity: { value: 500000 } };
const REQUIRED = {
  '3A': ['3-power', '3-product'],
  '3B': ['3-power', '3-product'],
  '4A': ['4-power', '4-product'],
  '5A': ['5-power', '5-product'],
};
const SENSORS = { '5-power': ['5-power-a', '5-power-b'], '4-product': [] };
const ORDER = [
  'open',
  'isolated',
  'tagged',
  'confirmed',
  'working',
  'restoring',
  'lifted',
  'live',
  'testing',
  'passed',
  'returned',
];

export class Repair {
  constructor(w, { job = 'J-1', position = '3A', procedure = 'boot', leader = 't-104' } = {}) {
    Object.assign(this, { w, job, position, procedure, leader });
    this.points = REQUIRED[position];
    this.sensors = this.points.flatMap((p) => SENSORS[p] ?? [p]);
    this.rules = w.plan.procedures[procedure];
  }

  // Goes forward from where the repair is up to the named step.
  async to(step) {
    const from = ORDER.indexOf(this.at) + 1;
    const steps = {
      open: () => this.open(),
      isolated: () => this.isolate(),
      tagged: () => this.tag(),
      confirmed: () => this.confirm(),
      working: () => this.start(),
      restoring: () => this.finish(),
      lifted: () => this.lift(),
      live: () => this.restore(),
      testing: () => this.beginTest(),
      passed: () => this.pass(),
      returned: () => this.giveBack(),
    };
    for (const name of ORDER.slice(from, ORDER.indexOf(step) + 1)) {
      await steps[name]();
      this.at = name;
    }
    return this;
  }

  ask(verb, body = {}, person = this.leader) {
    return this.w.ok(person, verb, { job: this.job, ...body });
  }

  no(verb, body, codes, person = this.leader) {
    return this.w.no(person, verb, { job: this.job, ...body }, codes);
  }

  only(verb, body, codes, person = this.leader) {
    return this.w.only(person, verb, { job: this.job, ...body }, codes);
  }

  doc(predicate, what) {
    return this.w.job(this.job, predicate, what);
  }

  phase(phase, lockout) {
    return this.doc(
      (d) => d.phase === phase && (!lockout || d.lockout === lockout),
      `${phase} ${lockout ?? ''}`,
    );
  }

  // The standing lockout-broken alarm of this job.
  alarm(predicate = () => true) {
    return this.w.seen.alarm('lockout-broken', (a) => a.job === this.job && predicate(a));
  }

  open() {
    const kit = this.rules.match ? { kit_family: 'k2' } : {};
    return this.ask(
      'open-job',
      { position: this.position, procedure: this.procedure, technician: this.leader, ...kit },
      'k-1',
    );
  }

  async isolate() {
    // A break is told before the point's own document: what is waited for below is to be of after it.
    await this.w.fence();
    await this.w.hw.set(this.sensors, 'isolated');
    for (const p of this.points) {
      if (SENSORS[p]?.length === 0)
        await this.ask('witness-point', { point: p, state: 'isolated' });
      await this.w.point(p, 'isolated', SENSORS[p]?.length === 0 ? 'witnessed' : 'fresh');
    }
  }

  async tag(person = this.leader) {
    for (const point of this.points) await this.ask('hang-tag', { point }, person);
  }

  sign(check, more = {}, person = SIGNER[check] ?? this.leader) {
    return this.ask('sign-check', { check, ...READINGS[check], ...more }, person);
  }

  async signGroup(...groups) {
    for (const group of groups)
      for (const { check } of this.rules[group] ?? []) await this.sign(check);
  }

  async confirm() {
    // A lock may be hung on a point that still settles; what is signed on it has to wait.
    for (const p of this.points)
      await this.w.seen.doc(
        `point/${p}`,
        (d) => d.state === 'isolated' && d.trust !== 'settling',
        'settled',
      );
    await this.signGroup('prepare', 'relieve', 'verify');
    await this.phase('open', 'confirmed');
  }

  async start() {
    await this.ask('start-work');
    await this.phase('working', 'confirmed');
  }

  async finish() {
    await this.signGroup('work', 'clear');
    await this.ask('finish-work');
    await this.phase('restoring');
  }

  async lift(person = this.leader) {
    for (const point of this.points) await this.ask('lift-tag', { point }, person);
  }

  async restore() {
    await this.w.hw.set(this.sensors, 'live');
    for (const p of this.points) {
      if (SENSORS[p]?.length === 0) await this.ask('witness-point', { point: p, state: 'live' });
      await this.w.point(p, 'live', SENSORS[p]?.length === 0 ? 'witnessed' : 'fresh');
    }
  }

  async beginTest() {
    await this.ask('begin-test');
    await this.phase('testing');
  }

  record(test, readings = PASSING[test] ?? { pass: true }, more = {}) {
    return this.ask('record-test', { test, readings, ...more });
  }

  async pass() {
    for (const { test } of this.rules.tests) await this.record(test);
    await this.signGroup('finish');
  }

  async giveBack() {
    await this.ask('return-position');
    await this.phase('returned');
  }

  // After a break: points isolated again, tags renewed, everything signed again. Not yet the alarm.
  async proveAgain() {
    await this.isolate();
    await this.tag();
    await this.signGroup('relieve', 'verify');
    await this.doc((d) => d.lockout === 'confirmed', 'confirmed again');
  }

  async acknowledge(person = this.leader) {
    const alarm = await this.alarm();
    return this.w.ok(person, 'acknowledge-alarm', { alarm: alarm.alarm });
  }

  // Waits until `missing` in the job's document has exactly these codes, given in order of the alphabet.
  lacks(...codes) {
    const codesOf = (d) => [...new Set(d.missing.map((r) => r.code))].sort().join(' ');
    return this.doc((d) => codesOf(d) === codes.join(' '), `missing: ${codes}`);
  }
}
