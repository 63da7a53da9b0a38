// A broker under the configuration and access rules that are shipped in contrib/mosquitto, word for word but
// for its ports and paths, with a login for each account of the rules.
import { appendFileSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MOSQUITTO, accepts, freePort } from './broker.mjs';
import { end, run, start } from './child.mjs';
import { connect } from './observer.mjs';
import { until } from './until.mjs';

const SHIPPED = join(dirname(fileURLToPath(import.meta.url)), '../../../contrib/mosquitto');

export const shipped = (name) => readFileSync(join(SHIPPED, name), 'utf8');
export const secretOf = (login) => `secret of ${login}`;

// The accounts that a list of rules has.
export const accountsOf = (rules) => [...rules.matchAll(/^user (\S+)$/gm)].map((m) => m[1]);

export class ShippedBroker {
  // `secure` has the certificates; `more` is appended to the configuration, `people` are further logins,
  // and `extra` are rules beside the shipped ones.
  constructor(secure, { rules = 'forelock.acl', more = '', people = [], extra = '' } = {}) {
    Object.assign(this, { secure, rules, more, people, extra });
    this.dir = join(secure.dir, `shipped-${rules}`);
    mkdirSync(join(this.dir, 'kept'), { recursive: true });
  }

  async #passwords() {
    const file = join(this.dir, 'passwords');
    const logins = [...accountsOf(shipped(this.rules)), ...this.people];
    writeFileSync(file, logins.map((name) => `${name}:${secretOf(name)}\n`).join(''), {
      mode: 0o600,
    });
    const { code, err } = await run('mosquitto_passwd', ['-U', file], { cwd: this.dir });
    if (code !== 0) throw new Error(err);
    return file;
  }

  #configuration(passwords) {
    writeFileSync(join(this.dir, 'rules'), shipped(this.rules) + this.extra, { mode: 0o600 });
    const ours = [
      [/^listener 1883 .*$/m, `listener ${this.port} 127.0.0.1`],
      [/^listener 8883$/m, `listener ${this.tls} 127.0.0.1`],
      [/^cafile .*$/m, `cafile ${join(this.secure.dir, 'authority.crt')}`],
      [/^certfile .*$/m, `certfile ${join(this.secure.dir, 'broker.crt')}`],
      [/^keyfile .*$/m, `keyfile ${join(this.secure.dir, 'broker.key')}`],
      [/^password_file .*$/m, `password_file ${passwords}`],
      [/^acl_file .*$/m, `acl_file ${join(this.dir, 'rules')}`],
      [/^persistence_location .*$/m, `persistence_location ${join(this.dir, 'kept')}/`],
    ];
    return ours.reduce((text, [line, by]) => {
      if (!line.test(text)) throw new Error(`the shipped configuration lacks ${line}`);
      return text.replace(line, by);
    }, shipped('forelock.conf'));
  }

  async start() {
    const passwords = await this.#passwords();
    this.port ??= await freePort();
    this.tls ??= await freePort();
    const file = join(this.dir, 'mosquitto.conf');
    writeFileSync(file, this.#configuration(passwords), { mode: 0o600 });
    if (process.getuid() === 0) appendFileSync(file, 'user root\n');
    appendFileSync(file, this.more);
    this.child = start(MOSQUITTO, ['-c', file]);
    await until(
      async () =>
        this.child.status !== null || ((await accepts(this.port)) && (await accepts(this.tls))),
      'the shipped broker to listen',
    );
    if (this.child.status !== null) throw new Error(`the broker ended: ${this.child.err}`);
    return this;
  }

  async stop() {
    if (this.child) await end(this.child);
  }

  // A login's own client, over TLS. `onMessage` hears also what is delivered with the connection.
  async login(name, { onMessage, ...options } = {}) {
    const client = connect(this.tls, {
      protocol: 'mqtts',
      ca: readFileSync(join(this.secure.dir, 'authority.crt')),
      username: name,
      password: secretOf(name),
      clientId: name,
      ...options,
    });
    client.on('error', () => {});
    if (onMessage) client.on('message', onMessage);
    await until(() => client.connected, `${name} to log in`);
    return client;
  }
}
