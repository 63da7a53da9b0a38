// A receiver of webhooks that does as it is told: answers, fails, stalls, redirects. It checks each
// delivery by an independent signature library and reads it by an independent CloudEvents library.
import { HTTP } from 'cloudevents';
import http from 'node:http';
import https from 'node:https';
import { Webhook } from 'standardwebhooks';
import { Waiters } from './until.mjs';

export const SECRET = 'whsec_bm90IGEgcmVhbCBzZWNyZXQsIG9ubHkgYSB0ZXN0J3M=';

export class Receiver {
  #waiters = new Waiters();
  #server;

  // `answer(event, nth)` gives a status, {status, headers}, or null to stall.
  constructor({ tls } = {}) {
    this.answer = () => 204;
    this.secret = SECRET;
    this.all = []; // every delivery: {id, event, body, answered}
    this.wrong = [];
    const take = (request, response) => this.#take(request, response);
    this.#server = tls ? https.createServer(tls, take) : http.createServer(take);
    this.#server.on('tlsClientError', () => (this.refused = (this.refused ?? 0) + 1));
    this.scheme = tls ? 'https' : 'http';
  }

  async listen(port = 0) {
    await new Promise((resolve, reject) => {
      this.#server.on('error', reject);
      this.#server.listen(port, '127.0.0.1', resolve);
    });
    this.port = this.#server.address().port;
    this.url = `${this.scheme}://127.0.0.1:${this.port}/hook`;
    return this;
  }

  #take(request, response) {
    let body = '';
    request.setEncoding('utf8');
    request.on('data', (d) => (body += d));
    request.on('end', () => this.#judge(request, response, body));
  }

  #judge(request, response, body) {
    const { headers } = request;
    const delivery = { id: headers['webhook-id'], body, headers, path: request.url };
    try {
      new Webhook(this.secret).verify(body, headers);
      delivery.event = HTTP.toEvent({ headers, body });
      if (delivery.event.validate() !== true) this.wrong.push(`no event: ${body}`);
    } catch (error) {
      this.wrong.push(`${error.message}: ${JSON.stringify(headers)} ${body}`);
    }
    const nth = this.all.filter((d) => d.id === delivery.id).length + 1;
    const answer = this.answer(delivery.event, nth, delivery);
    this.all.push(delivery);
    if (answer !== null) {
      const { status = answer, headers: more = {} } = answer;
      delivery.answered = status;
      response.writeHead(status, more).end();
    } else {
      response.on('close', () => {
        delivery.closed = true;
        this.#waiters.arrived();
      });
    }
    this.#waiters.arrived();
  }

  wait(probe, what, timeout = 20000) {
    return this.#waiters.wait(probe, what, timeout);
  }

  // Events that were taken, each once, in the order in which they were first taken.
  taken() {
    const seen = new Set();
    return this.all
      .filter((d) => d.answered >= 200 && d.answered < 300 && !seen.has(d.id) && seen.add(d.id))
      .map((d) => d.event);
  }

  // Waits until an event of this type (and job) was taken.
  event(type, job) {
    const is = (e) => e.type === `forelock.${type}` && (!job || e.data.job === job);
    return this.wait(
      () => this.taken().find(is),
      () => `${type} ${job ?? ''}; taken: ${this.taken().map((e) => e.type)}; ${this.wrong}`,
    );
  }

  async close() {
    this.#waiters.close();
    this.#server.closeAllConnections();
    await new Promise((resolve) => this.#server.close(resolve));
  }
}
