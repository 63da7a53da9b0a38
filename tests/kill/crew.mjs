// One crew on one position: it looks at the retained documents, does what comes next, and now and then
// something else. It knows nothing of the daemon's lives: what has no answer is asked again by the ledger.
import { delay } from '../outside/harness/until.mjs';

const VALUES = {
  drained: { value: 1.5, unit: 'L' },
  'no-voltage': { value: 0.2, unit: 'V' },
  'spout-nut': { value: 45, unit: 'N.m', instrument: 'tw-3' },
};
const READINGS = { continuity: { value: 500000 } };
const SIGNER = { 'site-told': 'm-1' };
const PROVE = ['prepare', 'relieve', 'verify'];

export class Crew {
  jobs = 0;

  constructor({ world, ledger, random, position, procedure, leader, helper, sensors }) {
    Object.assign(this, { w: world, ledger, random, position, procedure, leader, helper, sensors });
    const rules = world.plan.procedures[procedure];
    this.rules = rules;
    this.points = world.plan.sites.juniper.points
      .filter((p) => p.isolates.includes(position) && rules.isolate.includes(p.energy))
      .map((p) => p.point);
  }

  document(below) {
    return this.w.seen.docs.get(`juniper/${below}`);
  }

  ask(person, verb, body) {
    return this.ledger.request(person, verb, { job: this.job, ...body });
  }

  // Goes on until `gate` says to stop; `gate()` resolves when the next step may be made.
  async run(gate) {
    while (await gate(this)) {
      this.busy = true;
      const step = this.step();
      const answer = await step?.();
      this.busy = false;
      if (!answer?.accepted) await delay(15);
    }
  }

  step() {
    const doc = this.job && this.document(`job/${this.job}`);
    if (!this.job || doc?.phase === 'returned' || doc?.phase === 'cancelled') return this.begin();
    if (!doc) return () => delay(10);
    return this[doc.phase](doc);
  }

  begin() {
    const job = `J-${this.position}-${++this.jobs}`;
    const kit = this.rules.match ? { kit_family: 'k2' } : {};
    const technician = this.random.chance(0.5) ? { technician: this.leader } : {};
    return async () => {
      const answer = await this.ledger.request('k-1', 'open-job', {
        job,
        position: this.position,
        procedure: this.procedure,
        ...kit,
        ...technician,
      });
      if (answer?.accepted) this.job = job;
      return answer;
    };
  }

  tag(point, person) {
    const tags = this.document(`point/${point}`)?.tags ?? [];
    return tags.find((t) => t.job === this.job && t.person === person);
  }

  sees(point) {
    return this.document(`point/${point}`)?.state;
  }

  // Makes the hardware, or a person's word, say `state` of a point that does not.
  turn(state) {
    const point = this.points.find((p) => this.sees(p) !== state);
    if (!point) return null;
    const sensors = this.sensors[point] ?? [point];
    if (sensors.length === 0) return () => this.ask(this.leader, 'witness-point', { point, state });
    return () => this.w.hw.set(sensors, state);
  }

  // A word of before the job is none of its own: it has to be given again.
  witness(doc) {
    const lacks = (p) => doc.missing.some((m) => m.code === 'point-unknown' && m.subject === p);
    const point = this.points.find((p) => this.sensors[p]?.length === 0 && lacks(p));
    return point && (() => this.ask(this.leader, 'witness-point', { point, state: 'isolated' }));
  }

  hang(doc) {
    for (const { person } of doc.crew)
      for (const point of this.points)
        if (!this.tag(point, person)?.counts) return () => this.ask(person, 'hang-tag', { point });
    return null;
  }

  sign(doc, groups) {
    const check = doc.checks.find((c) => groups.includes(c.group) && (!c.pass || c.void));
    if (!check) return null;
    const id = check.check;
    return () => this.ask(SIGNER[id] ?? this.leader, 'sign-check', { check: id, ...VALUES[id] });
  }

  acknowledge() {
    const alarm = this.w.seen
      .alarms('lockout-broken')
      .find((a) => a.job === this.job && a.state !== 'acknowledged');
    return alarm
      ? () => this.ledger.request(this.leader, 'acknowledge-alarm', { alarm: alarm.alarm })
      : null;
  }

  // On the way to a start, from `open` or `stopped`.
  prove(doc) {
    if (!doc.technician) return () => this.ask('m-1', 'assign-job', { technician: this.leader });
    const tagged = this.points.some((p) => this.document(`point/${p}`)?.tags.length > 0);
    if (doc.phase === 'open' && !tagged && this.random.chance(0.03))
      return () => this.ask('k-1', 'cancel-job');
    if (doc.phase === 'open' && this.random.chance(0.04)) return this.join(doc);
    return (
      this.turn('isolated') ??
      this.witness(doc) ??
      this.hang(doc) ??
      this.sign(doc, PROVE) ??
      this.acknowledge() ??
      (() => this.ask(this.leader, 'start-work'))
    );
  }

  // Somebody who joins twice leaves no second fact: the job's document has to tell of the first.
  join(doc) {
    const inCrew = doc.crew.some((c) => c.person === this.helper);
    return () => this.ask(this.helper, inCrew ? 'leave-job' : 'join-job');
  }

  open(doc) {
    return this.prove(doc);
  }

  stopped(doc) {
    return this.prove(doc);
  }

  working(doc) {
    const dice = this.random.next();
    const point = this.random.of(this.points);
    if (dice < 0.05) return () => this.ask(this.leader, 'stop-work');
    if (dice < 0.08) return () => this.ask(this.leader, 'lift-tag', { point });
    if (dice < 0.11 && this.sensors[point]?.length !== 0)
      return () => this.w.hw.set(this.sensors[point] ?? [point], 'live');
    if (dice < 0.13) return () => this.w.hw.tagging(point, 'lifted', this.leader);
    if (dice < 0.15) return () => this.ask(this.leader, 'set-aside');
    if (dice < 0.17) return () => this.ask(this.leader, 'return-position');
    return (
      this.sign(doc, ['work', 'clear', 'leave']) ?? (() => this.ask(this.leader, 'finish-work'))
    );
  }

  restoring(doc) {
    if (this.random.chance(0.03)) return () => this.ask(this.leader, 'rework');
    for (const { person } of doc.crew)
      for (const point of this.points)
        if (this.tag(point, person)) return () => this.ask(person, 'lift-tag', { point });
    return (
      this.turn('live') ?? this.acknowledge() ?? (() => this.ask(this.leader, 'begin-test'))
    );
  }

  testing(doc) {
    if (this.random.chance(0.03)) return () => this.ask(this.leader, 'rework');
    const test = doc.tests.find((t) => !t.pass || t.void)?.test;
    if (test)
      return () =>
        this.ask(this.leader, 'record-test', {
          test,
          readings: READINGS[test] ?? { pass: !this.random.chance(0.1) },
        });
    return (
      this.sign(doc, ['finish']) ??
      this.turn('live') ??
      this.acknowledge() ??
      (() => this.ask(this.leader, 'return-position'))
    );
  }
}
