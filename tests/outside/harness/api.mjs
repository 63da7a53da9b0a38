// The HTTP API as its own document describes it: every operation, with paths filled in.
import { readFileSync, writeFileSync } from 'node:fs';
import http from 'node:http';
import { join } from 'node:path';

const at = (name) => new URL(`../../../${name}`, import.meta.url);
export const api = JSON.parse(readFileSync(at('docs/openapi.json'), 'utf8'));
export const messages = JSON.parse(readFileSync(at('docs/schema/message.schema.json'), 'utf8'));
// Where both are, for references from the one to the other.
export const ID = new URL('../openapi.json', messages.$id).href;
export const METHODS = ['get', 'post'];

// What a reference stands for.
export const follow = (node) =>
  node?.$ref
    ? node.$ref
        .slice(2)
        .split('/')
        .reduce((x, key) => x[key], api)
    : node;

// Every operation: {method, path, operation}.
export const operations = Object.entries(api.paths).flatMap(([path, item]) =>
  METHODS.filter((m) => item[m]).map((m) => ({
    method: m.toUpperCase(),
    path,
    operation: item[m],
  })),
);

// A path with the examples of its parameters, or the values given.
export function fill(path, values = {}) {
  return path.replace(/\{(\w+)\}/g, (all, name) => {
    const [parameter] = (api.paths[path].parameters ?? [])
      .map(follow)
      .filter((p) => p.name === name);
    return values[name] ?? parameter.example;
  });
}

// The routes that the program has, as patterns: {methods, path}, an id written as {}.
export function routes() {
  const source = readFileSync(at('daemon/http/route.c'), 'utf8');
  const rows = [...source.matchAll(/\{"([^"]*)", ((?:GET|POST)(?: \| (?:GET|POST))*),/gm)];
  return rows.map(([, pattern, methods]) => ({
    path: `/${pattern.replaceAll('+', '{}')}`,
    methods: methods.split(' | '),
  }));
}

// The status, headers and text of an answer; of a stream, only its head.
export function head(web, method, path, { token, cookie, headers = {}, body, from } = {}) {
  const all = { ...headers };
  if (token) all.authorization = `Bearer ${token}`;
  if (cookie) all.cookie = cookie;
  const options = { host: web.host, port: web.port, method, path, headers: all, agent: false };
  if (from) options.localAddress = from;
  return new Promise((resolve, reject) => {
    const request = http.request(options, (response) => {
      const answer = { status: response.statusCode, headers: response.headers, text: '' };
      response.on('error', reject);
      if (response.headers['content-type'] === 'text/event-stream' && method === 'GET') {
        request.on('error', () => {});
        request.destroy();
        resolve(answer);
        return;
      }
      response.setEncoding('utf8');
      response.on('data', (d) => (answer.text += d));
      response.on('end', () => resolve(answer));
    });
    request.on('error', reject);
    request.end(body);
  });
}

// Writes the people anew and has the daemon read their tokens.
export function reload(w) {
  writeFileSync(join(w.dir, 'people.json'), JSON.stringify({ people: w.plan.people }));
  w.daemon.child.kill('SIGHUP');
}
