// The rules that facts have to keep among themselves, written anew and without a look at the daemon: what
// a gate may open on, what a position may come back on, and what the documents have to say then.
import assert from 'node:assert/strict';

const STANDS = ['open', 'working', 'stopped', 'restoring', 'testing'];

export class Fold {
  seq = 0;
  jobs = new Map();
  points = new Map();
  tags = new Map(); // `point job person` -> whether it counts
  service = new Map();
  owed = new Set(); // positions on which work was started and not ended by a return
  starts = 0;
  returns = 0;

  constructor(site, procedures) {
    this.site = site;
    this.procedures = procedures;
  }

  add(facts) {
    for (const fact of facts) {
      assert.equal(fact.seq, this.seq + 1, 'the sequence has a gap');
      this.seq = fact.seq;
      const type = fact.type.slice('forelock.'.length);
      this[type]?.(fact.data, fact);
    }
    return this;
  }

  required(job) {
    const energies = this.procedures[job.procedure].isolate;
    return this.site.points
      .filter((p) => p.isolates.includes(job.position) && energies.includes(p.energy))
      .map((p) => p.point);
  }

  standing(position) {
    return [...this.jobs.values()].find((j) => j.position === position && STANDS.includes(j.phase));
  }

  ['job.opened'](d) {
    assert.ok(!this.standing(d.position), `${d.job} opened while another job stands`);
    this.jobs.set(d.job, {
      job: d.job,
      position: d.position,
      procedure: d.procedure,
      leader: d.person,
      phase: 'open',
      crew: new Set(d.person ? [d.person] : []),
      tests: new Map(),
    });
  }

  ['job.assigned'](d) {
    const job = this.jobs.get(d.job);
    job.crew.delete(job.leader);
    job.leader = d.person;
    job.crew.add(d.person);
  }

  ['crew.joined'](d) {
    this.jobs.get(d.job).crew.add(d.person);
  }

  ['crew.left'](d) {
    this.jobs.get(d.job).crew.delete(d.person);
  }

  ['point.changed'](d) {
    this.points.set(d.point, d.state);
  }

  ['tag.hung'](d) {
    this.tags.set(`${d.point} ${d.job} ${d.person}`, d.counts);
  }

  ['tag.discounted'](d) {
    this.tags.set(`${d.point} ${d.job} ${d.person}`, false);
  }

  ['tag.lifted'](d) {
    this.tags.delete(`${d.point} ${d.job} ${d.person}`);
  }

  ['work.started'](d) {
    const job = this.jobs.get(d.job);
    assert.ok(['open', 'stopped'].includes(job.phase), `${d.job} started in ${job.phase}`);
    assert.equal(d.by, job.leader, 'somebody else started the work');
    for (const point of this.required(job)) {
      assert.equal(this.points.get(point), 'isolated', `${d.job} started, ${point} not isolated`);
      for (const person of job.crew)
        assert.ok(this.tags.get(`${point} ${d.job} ${person}`), `${person} has no tag on ${point}`);
    }
    job.phase = 'working';
    job.tests.clear();
    this.owed.add(job.position);
    this.starts++;
  }

  ['work.stopped'](d) {
    this.jobs.get(d.job).phase = d.phase;
  }

  ['work.finished'](d) {
    const job = this.jobs.get(d.job);
    assert.equal(job.phase, 'working', 'finished out of season');
    job.phase = 'restoring';
  }

  ['work.set-aside'](d) {
    this.jobs.get(d.job).phase = 'open';
  }

  ['work.reopened'](d) {
    this.jobs.get(d.job).phase = 'open';
  }

  ['test.begun'](d) {
    const job = this.jobs.get(d.job);
    assert.equal(job.phase, 'restoring', 'tested out of season');
    const here = this.site.points.filter((p) => p.isolates.includes(job.position));
    for (const tag of this.tags.keys())
      assert.ok(!here.some((p) => tag.startsWith(`${p.point} `)), `tested under the tag ${tag}`);
    job.phase = 'testing';
    job.tests.clear();
  }

  ['test.recorded'](d) {
    this.jobs.get(d.job).tests.set(d.test, d.pass);
  }

  ['job.returned'](d) {
    const job = this.jobs.get(d.job);
    assert.equal(job.phase, 'testing', 'returned out of season');
    for (const { test } of this.procedures[job.procedure].tests)
      assert.equal(job.tests.get(test), true, `${d.job} returned without ${test}`);
    for (const point of this.required(job))
      assert.equal(this.points.get(point), 'live', `${d.job} returned, ${point} not live`);
    job.phase = 'returned';
    this.owed.delete(job.position);
    this.returns++;
  }

  ['job.cancelled'](d) {
    const job = this.jobs.get(d.job);
    assert.equal(job.phase, 'open', 'cancelled out of season');
    job.phase = 'cancelled';
  }

  ['position.out-of-service'](d) {
    this.service.set(d.position, 'out-of-service');
  }

  ['position.returned'](d) {
    assert.ok(!this.standing(d.position), `${d.position} is back while a job stands on it`);
    assert.ok(!this.owed.has(d.position), `${d.position} is back with work not ended by a return`);
    for (const point of this.site.points.filter((p) => p.isolates.includes(d.position))) {
      const state = this.points.get(point.point);
      const proved = point.sensors?.length === 0 ? state !== 'isolated' : state === 'live';
      assert.ok(proved, `${d.position} is back while ${point.point} is ${state}`);
    }
    this.service.set(d.position, 'in-service');
  }

  // Holds the retained documents against the facts; returns what differs, in words.
  differences(docs) {
    const wrong = [];
    const differ = (what, said, known) => {
      if (said !== known) wrong.push(`${what}: the document says ${said}, the facts ${known}`);
    };
    for (const { position } of this.site.positions)
      differ(
        position,
        docs.get(`${this.site.site}/position/${position}`)?.service,
        this.service.get(position) ?? 'out-of-service',
      );
    for (const job of this.jobs.values()) {
      const doc = docs.get(`${this.site.site}/job/${job.job}`);
      differ(job.job, doc?.phase, job.phase);
      differ(`leader of ${job.job}`, doc?.technician ?? undefined, job.leader ?? undefined);
      const crew = doc?.crew.map((c) => c.person).sort();
      if (STANDS.includes(job.phase))
        differ(`crew of ${job.job}`, String(crew), String([...job.crew].sort()));
    }
    for (const { point } of this.site.points) {
      const doc = docs.get(`${this.site.site}/point/${point}`);
      const said = doc?.tags.map((t) => `${point} ${t.job} ${t.person} ${t.counts}`).sort();
      const known = [...this.tags].filter(([k]) => k.startsWith(`${point} `));
      differ(point, doc?.state, this.points.get(point) ?? 'unknown');
      differ(`tags on ${point}`, String(said), String(known.map((t) => t.join(' ')).sort()));
    }
    return wrong;
  }
}
