// A second listener of the broker with TLS, passwords and the access rules that are shipped: what the
// daemon and people have in the field, beside the open one that the observer and the hardware use.
import { cpSync, mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { freePort } from './broker.mjs';
import { run } from './child.mjs';

const RULES = join(
  dirname(fileURLToPath(import.meta.url)),
  '../../../contrib/mosquitto/forelock.acl',
);

async function done(command, args, cwd) {
  const { code, err } = await run(command, args, { cwd });
  if (code !== 0) throw new Error(`${command} ${args.join(' ')}: ${err}`);
}

export class Secure {
  constructor(dir) {
    this.dir = join(dir, 'secure');
    mkdirSync(this.dir);
  }

  async #authority(name) {
    const subject = ['-subj', `/CN=${name}`, '-days', '2', '-nodes', '-newkey', 'ec'];
    const curve = ['-pkeyopt', 'ec_paramgen_curve:P-256'];
    const files = ['-keyout', `${name}.key`, '-out', `${name}.crt`];
    await done('openssl', ['req', '-x509', ...subject, ...curve, ...files], this.dir);
  }

  async make() {
    await this.#authority('authority');
    await this.#authority('stranger');
    writeFileSync(join(this.dir, 'names'), 'subjectAltName=IP:127.0.0.1\n');
    const request = ['req', '-new', '-nodes', '-newkey', 'ec', '-subj', '/CN=broker'];
    const curve = ['-pkeyopt', 'ec_paramgen_curve:P-256'];
    const files = ['-keyout', 'broker.key', '-out', 'broker.csr'];
    await done('openssl', [...request, ...curve, ...files], this.dir);
    const signing = ['x509', '-req', '-in', 'broker.csr', '-days', '2', '-CAcreateserial'];
    const by = ['-CA', 'authority.crt', '-CAkey', 'authority.key', '-extfile', 'names'];
    await done('openssl', [...signing, ...by, '-out', 'broker.crt'], this.dir);
    const people = ['forelock', 't-104', 't-105'].map((name) => `${name}:secret of ${name}\n`);
    writeFileSync(join(this.dir, 'passwords'), people.join(''), { mode: 0o600 });
    await done('mosquitto_passwd', ['-U', 'passwords'], this.dir);
    cpSync(RULES, join(this.dir, 'rules'));
    writeFileSync(join(this.dir, 'forelock.secret'), 'secret of forelock\n', { mode: 0o600 });
    writeFileSync(join(this.dir, 'wrong.secret'), 'open sesame\n', { mode: 0o600 });
    this.port = await freePort();
    return this;
  }

  listener() {
    return [
      `listener ${this.port} 127.0.0.1`,
      'allow_anonymous false',
      `password_file ${this.dir}/passwords`,
      `acl_file ${this.dir}/rules`,
      `cafile ${this.dir}/authority.crt`,
      `certfile ${this.dir}/broker.crt`,
      `keyfile ${this.dir}/broker.key`,
    ];
  }

  // The daemon's `broker`.
  asDaemon() {
    return {
      port: this.port,
      username: 'forelock',
      password_file: 'secure/forelock.secret',
      ca_file: 'secure/authority.crt',
    };
  }
}
