// Every request that was made, and what became of it. A request that got no answer is asked again under
// its id until it has one; an answer that was given once has to be given again, by every later daemon.
// In the end each accepted request has to be one fact of the journal, and each such fact one request.
// What ends or stops is never answered from memory: asked again after an answer was lost it finds nothing
// left to end and says so (`again`), and the fact is of the time before.
import assert from 'node:assert/strict';

// The fact that an accepted request of a verb leaves, and which member of the fact names who asked.
const FACTS = {
  'open-job': ['job.opened', 'by'],
  'assign-job': ['job.assigned', 'by'],
  'join-job': ['crew.joined', 'person'],
  'leave-job': ['crew.left', 'by'],
  'witness-point': ['point.witnessed', 'person'],
  'hang-tag': ['tag.hung', 'person'],
  'lift-tag': ['tag.lifted', 'by'],
  'sign-check': ['check.signed', 'person'],
  'start-work': ['work.started', 'by'],
  'stop-work': ['stop.called', 'by'], // of work that stands still already too
  'finish-work': ['work.finished', 'by'],
  'begin-test': ['test.begun', 'by'],
  'record-test': ['test.recorded', 'person'],
  rework: ['work.reopened', 'by'],
  'set-aside': ['work.set-aside', 'by'],
  'return-position': ['job.returned', 'by'],
  'cancel-job': ['job.cancelled', 'by'],
  'acknowledge-alarm': ['alarm.acknowledged', 'by'],
};
const WHO = new Map(Object.values(FACTS));
// Verbs that change the phase: the job's document has to tell of it before the answer does.
const PHASED =
  'open-job start-work finish-work set-aside rework begin-test return-position cancel-job'.split(
    ' ',
  );
// What takes effect at once even while the journal cannot write.
const ENDS = ['lift-tag', 'stop-work', 'witness-point', 'sign-check'];

// A word of a point and an acknowledgement are not of one job.
const text = (type, who, at, x) => {
  const job = type === 'point.witnessed' || type === 'alarm.acknowledged' ? '' : x.job;
  const subject = x.check ?? x.test ?? x.alarm ?? x.point ?? '';
  return `${type} ${who} ${at} ${job} ${subject} ${x.note ?? x.reason ?? ''}`;
};
const isEnd = ({ verb, body }) =>
  verb === 'lift-tag' ||
  verb === 'stop-work' ||
  (verb === 'witness-point' && body.state === 'live');
// Whether an accepted request has a fact at the very time of its answer.
const hasFact = (e) => !(isEnd(e) && e.accepted.again);
const timeless = (key) => key.replace(/\d{4}-\d\d-\d\dT[\d:.]+Z/, '*');
const ofRequest = (e) => text(FACTS[e.verb][0], e.person, e.accepted.at, e.body);

// What a request left, as a text that the request has as well; null: no request led to this fact.
function ofFact(fact) {
  const type = fact.type.slice('forelock.'.length);
  const who = WHO.get(type) && fact.data[WHO.get(type)];
  if (!who || fact.data.reader) return null;
  return text(type, who, fact.at, fact.data);
}

function tally(texts) {
  const counts = new Map();
  for (const text of texts) counts.set(text, (counts.get(text) ?? 0) + 1);
  return counts;
}

// What ends or stops is done again whenever it is delivered again, and the broker does so where a daemon
// ended before it acknowledged it: whether a fact is an accepted end once more, in a later life.
function isDeliveredAgain(ends, fact, facts) {
  const key = timeless(ofFact(fact) ?? '');
  const born = facts.findLast((f) => f.type === 'forelock.daemon.started' && f.seq < fact.seq);
  const before = (e) => born && Date.parse(e.accepted.at) <= Date.parse(born.at);
  return ends.some((e) => before(e) && timeless(ofRequest(e)) === key);
}

// What the journal has of the kind of fact that a text is of, of about its time.
function like(facts, key) {
  const [type, , at] = key.split(' ');
  const near = (f) => Math.abs(Date.parse(f.at) - Date.parse(at)) < 3000;
  const kind = facts.filter((f) => f.type === `forelock.${type}` && near(f));
  return kind.map((f) => JSON.stringify(f)).join('\n');
}

export class Ledger {
  entries = [];
  answers = 0;
  again = 0;
  refused = 0;
  unanswered = 0;
  // While a link is new, what was given to the one before comes again, ahead of the documents.
  anew = false;

  // `lives()` resolves when another daemon has come up: then what has no answer yet is asked again.
  constructor(seen, lives) {
    this.seen = seen;
    this.lives = lives;
  }

  // A new request: its answer, from whichever daemon gives one.
  async request(person, verb, body) {
    const entry = { person, verb, body: { id: `r-${this.entries.length}`, ...body } };
    if (['open-job', 'sign-check', 'record-test'].includes(verb)) entry.body.note = entry.body.id;
    if (['stop-work', 'rework', 'set-aside', 'cancel-job'].includes(verb))
      entry.body.reason = entry.body.id;
    this.entries.push(entry);
    return this.ask(entry);
  }

  // Asks until there is an answer; `attempts` bounds how often (0: until the ledger is closed).
  async ask(entry, attempts = 0) {
    for (let i = 1; !this.closed; i++) {
      const answer = await this.#once(entry);
      if (answer) return this.#judge(entry, answer);
      this.unanswered++;
      assert.ok(i !== attempts, `no answer to ${JSON.stringify(entry)}`);
    }
    return null;
  }

  #once({ person, verb, body }) {
    const asked = this.seen.request(person, verb, body, { timeout: 3000 }).catch(() => null);
    return Promise.race([asked, this.lives().then(() => null)]);
  }

  #judge(entry, answer) {
    const what = `${JSON.stringify(entry)}\nnow: ${JSON.stringify(answer)}`;
    this.answers++;
    if (entry.accepted) {
      assert.ok(answer.accepted, `an accepted request is refused when asked again: ${what}`);
      assert.equal(answer.again, true, `an accepted request was done again: ${what}`);
      for (const name of ['id', 'verb', 'job', 'at', 'result'])
        assert.deepEqual(answer[name], entry.accepted[name], `another answer: ${what}`);
    } else if (answer.accepted) {
      entry.accepted = answer;
      this.#told(entry, answer);
    } else {
      this.refused++;
    }
    if (answer.again) this.again++;
    entry.settled = true;
    return answer;
  }

  #told({ verb }, { job, at }) {
    if (this.anew || !PHASED.includes(verb)) return;
    const document = this.seen.docs.get(`${this.seen.site}/job/${job}`);
    assert.ok(
      Date.parse(document?.since) >= Date.parse(at),
      `${verb} of ${job} was answered at ${at} before its document: ${JSON.stringify(document)}`,
    );
  }

  // A daemon that ended with a full disk has said how many facts were never written: of what ends or
  // stops, which it took without a disk, that many may be lost. Returns how many requests were.
  forgive(accepted, facts, unwritten) {
    const written = new Set(facts.map(ofFact));
    const lost = accepted.filter((e) => hasFact(e) && !written.has(ofRequest(e)));
    assert.ok(lost.length <= unwritten, `${lost.length} lost of ${unwritten} not written`);
    for (const entry of lost) {
      assert.ok(ENDS.includes(entry.verb), `a permit was lost: ${JSON.stringify(entry)}`);
      entry.accepted = null;
    }
    return lost.length;
  }

  get accepted() {
    return this.entries.filter((e) => e.accepted);
  }

  // Asks accepted requests again, a few at a time; what stops would stop again.
  async askAgain(entries, width = 40) {
    const left = entries.filter((e) => !isEnd(e));
    const lane = async () => {
      for (let e; (e = left.pop());) await this.ask(e, 5);
    };
    await Promise.all(Array.from({ length: width }, lane));
  }

  // Requests and facts stand one to one. Every request has to have its answer.
  hold(facts) {
    const asked = tally(this.accepted.filter(hasFact).map(ofRequest));
    const ended = new Set(this.accepted.filter((e) => !hasFact(e)).map(ofRequest).map(timeless));
    const ends = this.accepted.filter(isEnd);
    const of = facts.filter((f) => {
      const key = ofFact(f);
      return key && (asked.has(key) || !isDeliveredAgain(ends, f, facts));
    });
    const written = tally(of.map(ofFact));
    for (const [key, count] of asked)
      assert.equal(
        written.get(key) ?? 0,
        count,
        `accepted, in the journal: ${key}; of its kind: ${like(facts, key)}`,
      );
    for (const [key, count] of written)
      if (asked.has(key) || !ended.has(timeless(key)))
        assert.equal(asked.get(key) ?? 0, count, `in the journal, accepted: ${key}`);
  }

  // The same of some requests while others have no answer yet.
  holdOf(entries, facts) {
    const written = tally(facts.map(ofFact).filter(Boolean));
    for (const key of entries.filter(hasFact).map(ofRequest))
      assert.equal(written.get(key) ?? 0, 1, `accepted, in the journal once: ${key}`);
  }
}
