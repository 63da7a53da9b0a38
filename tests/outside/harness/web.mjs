// The HTTP API as its clients use it: tokens for everybody, requests, event streams, raw sockets.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import http from 'node:http';
import https from 'node:https';
import { connect } from 'node:net';
import { Waiters } from './until.mjs';

export const tokenOf = (person) => `token-of-${person}`;

// For a scenario's `tweak`: everybody gets a token.
export function tokens(plan) {
  for (const person of plan.people)
    person.token_sha256 = createHash('sha256').update(tokenOf(person.person)).digest('hex');
}

export class Web {
  constructor(w, { ca } = {}) {
    this.w = w;
    this.ca = ca;
    [this.host, this.port] = w.plan.main.http.listen.split(':');
  }

  #open(method, path, { person, token = person && tokenOf(person), headers = {}, agent } = {}) {
    const all = token ? { authorization: `Bearer ${token}`, ...headers } : headers;
    const options = { host: this.host, port: this.port, method, path, headers: all, agent };
    return this.ca
      ? https.request({ ...options, ca: this.ca, agent: agent ?? false })
      : http.request(options);
  }

  // Sends a request and reads its answer: {status, headers, text, body}; `body` is JSON read.
  ask(method, path, { body, ...options } = {}) {
    return new Promise((resolve, reject) => {
      const request = this.#open(method, path, options);
      request.on('error', reject);
      request.on('response', (response) => {
        let text = '';
        response.setEncoding('utf8');
        response.on('data', (d) => (text += d));
        response.on('error', reject);
        response.on('end', () => {
          const { statusCode: status, headers } = response;
          const json = /json/.test(headers['content-type']) && text !== '';
          resolve({ status, headers, text, body: json ? JSON.parse(text) : undefined });
        });
      });
      request.end(typeof body === 'object' ? JSON.stringify(body) : body);
    });
  }

  async get(path, person = 'v-1', options = {}) {
    const answer = await this.ask('GET', path, { person, ...options });
    assert.equal(answer.status, 200, `${path}: ${answer.text}`);
    return answer.body ?? answer.text;
  }

  post(person, verb, body, { site = 'juniper', ...options } = {}) {
    return this.ask('POST', `/api/${site}/request/${verb}`, { person, body, ...options });
  }

  // An error outside a request's own answer: a problem document with that status.
  async problem(status, method, path, options) {
    const { headers, body, text, ...rest } = await this.ask(method, path, options);
    assert.equal(rest.status, status, `${method} ${path}: ${text}`);
    assert.equal(headers['content-type'], 'application/problem+json');
    assert.equal(body.status, status);
    assert.ok(body.title && body.detail, text);
    return { headers, body };
  }

  stream(options) {
    return new Stream((path, more) => this.#open('GET', path, more), options).open();
  }

  // A socket of our own: for what no well-behaved client sends.
  raw(text = '') {
    return new Promise((resolve, reject) => {
      const socket = connect({ host: this.host, port: this.port, allowHalfOpen: true });
      socket.got = '';
      socket.setEncoding('utf8');
      socket.on('data', (d) => (socket.got += d));
      socket.gone = new Promise((gone) => socket.on('close', gone));
      socket.on('end', () => socket.end());
      socket.on('error', reject);
      socket.on('connect', () => {
        if (text) socket.write(text);
        resolve(socket);
      });
    });
  }
}

// Server-sent events as they come, in `events`: {id, event, data}.
class Stream {
  #waiters = new Waiters();

  constructor(open, { person = 'v-1', site = 'juniper', after, last } = {}) {
    const query = after === undefined ? '' : `?after=${after}`;
    const headers = { accept: 'text/event-stream' };
    if (last !== undefined) headers['last-event-id'] = String(last);
    this.request = open(`/api/${site}/stream${query}`, { person, headers, agent: false });
    this.events = [];
    this.comments = 0;
    this.text = '';
  }

  open() {
    return new Promise((resolve, reject) => {
      this.gone = new Promise((gone) => this.request.on('close', gone));
      this.request.on('error', reject);
      this.request.on('response', (response) => {
        assert.equal(response.statusCode, 200);
        assert.equal(response.headers['content-type'], 'text/event-stream');
        response.setEncoding('utf8');
        response.on('error', () => {});
        response.on('data', (d) => this.#take(d));
        resolve(this);
      });
      this.request.end();
    });
  }

  #take(text) {
    this.text += text;
    for (let end; (end = this.text.indexOf('\n\n')) >= 0;) {
      const event = { event: 'message' };
      for (const line of this.text.slice(0, end).split('\n')) {
        const [, name, value] = line.match(/^(\w*): ?(.*)$/);
        if (name === '') this.comments++;
        else event[name] = value;
      }
      this.text = this.text.slice(end + 2);
      if (event.id !== undefined) this.last = event.id;
      if (event.data === undefined) continue;
      this.events.push({ ...event, at: Date.now(), data: JSON.parse(event.data) });
    }
    this.#waiters.arrived();
  }

  // The CloudEvents, of one type if it is given.
  told(type) {
    return this.events
      .filter((e) => e.event === 'message')
      .map((e) => e.data)
      .filter((e) => !type || e.type === `forelock.${type}`);
  }

  wait(probe, what, timeout) {
    return this.#waiters.wait(() => probe(this), what, timeout);
  }

  async close() {
    this.request.on('error', () => {});
    this.request.destroy();
    await this.gone;
    this.#waiters.close();
  }
}
