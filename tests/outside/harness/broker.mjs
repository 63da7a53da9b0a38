// A private mosquitto on a free loopback port, which can be restarted with or without its memory.
import net from 'node:net';
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { start, end } from './child.mjs';
import { until } from './until.mjs';

export const MOSQUITTO =
  process.env.MOSQUITTO ??
  ['/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto'].find((p) => existsSync(p)) ??
  'mosquitto';

function canBind(port) {
  return new Promise((resolve) => {
    const server = net.createServer();
    server.once('error', () => resolve(false));
    server.listen(port, '127.0.0.1', () => server.close(() => resolve(true)));
  });
}

// The ports that are in use here or will be again, a file each with the process that has it. Tests run beside
// each other, and a broker that is away has its port all the same.
const PORTS = join(tmpdir(), 'forelock-ports');
const ours = new Set();
process.on('exit', () => ours.forEach((file) => rmSync(file, { force: true })));

function lives(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

// Takes a port for this process until it ends. False: another has it.
function reserve(port) {
  mkdirSync(PORTS, { recursive: true });
  const file = join(PORTS, String(port));
  try {
    writeFileSync(file, String(process.pid), { flag: 'wx' });
  } catch {
    const pid = existsSync(file) ? Number(readFileSync(file, 'utf8')) : 0;
    if (pid > 0 && !lives(pid)) rmSync(file, { force: true }); // for whoever comes next
    return false;
  }
  ours.add(file);
  return true;
}

// A free port below the ephemeral range: no outgoing connection can take it while the broker is away.
export async function freePort() {
  for (let i = 0; i < 200; i++) {
    const port = 10240 + Math.floor(Math.random() * 21000);
    if (reserve(port) && (await canBind(port))) return port;
  }
  throw new Error('no free port');
}

export function accepts(port) {
  return new Promise((resolve) => {
    const socket = net.connect(port, '127.0.0.1');
    socket.once('connect', () => {
      socket.destroy();
      resolve(true);
    });
    socket.once('error', () => resolve(false));
  });
}

export class Broker {
  // Lines for the end of the configuration, such as a listener with settings of its own.
  more = [];

  constructor(dir) {
    this.dir = join(dir, 'broker');
    this.file = join(dir, 'mosquitto.conf');
    mkdirSync(this.dir, { recursive: true });
  }

  #configure() {
    const lines = [
      'per_listener_settings true',
      `listener ${this.port} 127.0.0.1`,
      'allow_anonymous true',
      'persistence true',
      `persistence_location ${this.dir}/`,
      'max_queued_messages 0',
      'max_inflight_messages 0',
      'set_tcp_nodelay true',
      'log_dest stderr',
      'log_type error',
      'log_type warning',
      'log_type notice',
    ];
    if (process.getuid() === 0) lines.push('user root');
    lines.push(...this.more);
    writeFileSync(this.file, lines.join('\n') + '\n');
  }

  async start() {
    // Another test may take the port between our look and the broker's bind: then try another.
    for (let attempt = 0; attempt < 5; attempt++) {
      if (!this.started) this.port = await freePort();
      this.#configure();
      const child = start(MOSQUITTO, ['-c', this.file]);
      this.child = child;
      const up = await until(
        async () => child.status !== null || (await accepts(this.port)),
        'the broker to listen',
      );
      if (up && child.status === null) {
        this.started = true;
        return this;
      }
      if (this.started)
        await until(() => canBind(this.port), 'the port of the broker to be free again');
    }
    throw new Error(`the broker does not start: ${this.child.err}`);
  }

  // SIGTERM keeps retained messages and sessions; SIGKILL loses what was not saved.
  async stop(signal = 'SIGTERM') {
    if (this.child) await end(this.child, signal);
  }

  async restart(signal) {
    await this.stop(signal);
    await this.start();
  }
}
