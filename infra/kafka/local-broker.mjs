// A single Apache Kafka broker (KRaft, no ZooKeeper) as a plain process, from the project's own Maven artifacts (pom.xml).
// Needs a Java 17 runtime and, for the first fetch, Maven. Imports nothing of the project.
import { spawn, spawnSync } from 'node:child_process';
import { closeSync, existsSync, mkdirSync, openSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { freePort } from '../free-port.mjs';

const HERE = dirname(fileURLToPath(import.meta.url));
export const TOOLS = join(HERE, '../../.tools');
export const KAFKA_VERSION = /<kafka.version>(.+?)<\/kafka.version>/.exec(
  readFileSync(join(HERE, 'pom.xml'), 'utf8'),
)[1];
const LIB = join(TOOLS, `kafka-${KAFKA_VERSION}`, 'lib');
const JAVA_MINIMUM = 17;
const READY_WITHIN_MS = 240_000;
const STOP_WITHIN_MS = 20_000;
const PORT_TRIES = 3;
const PORT_TAKEN = 'Address already in use';

/** What this machine lacks to run a broker, as one sentence with the Debian packages; undefined when it lacks nothing. */
export function missingForBroker() {
  const missing = [];
  const java = javaVersion();
  if (java === undefined) missing.push({ what: 'java was not found', packageName: 'openjdk-17-jre-headless' });
  else if (java < JAVA_MINIMUM) {
    missing.push({ what: `java is ${java}, ${JAVA_MINIMUM} is needed`, packageName: 'openjdk-17-jre-headless' });
  }
  if (!existsSync(LIB) && spawnSync('mvn', ['-v']).status !== 0) {
    missing.push({ what: 'mvn was not found', packageName: 'maven' });
  }
  if (missing.length === 0) return undefined;
  const reasons = missing.map(({ what }) => what).join(', ');
  return `No local Kafka broker: ${reasons}. Install with: apt-get install ${missing.map((m) => m.packageName).join(' ')}`;
}

function javaVersion() {
  const { status, stderr } = spawnSync('java', ['-version'], { encoding: 'utf8' });
  const found = /version "(?:1\.)?(\d+)/.exec(stderr ?? '');
  return status === 0 && found ? Number(found[1]) : undefined;
}

/** Puts the broker's jars into .tools (about 55 MB, once). Returns the folder. */
export function fetchBroker() {
  if (existsSync(LIB)) return LIB;
  const missing = missingForBroker();
  if (missing) throw new Error(missing);
  const temporary = `${LIB}.${process.pid}`;
  mkdirSync(temporary, { recursive: true });
  const goal = [
    '-q',
    '-B',
    '-f',
    join(HERE, 'pom.xml'),
    'dependency:copy-dependencies',
    `-DoutputDirectory=${temporary}`,
  ];
  const { status, stdout, stderr } = spawnSync('mvn', goal, { encoding: 'utf8' });
  if (status !== 0) {
    rmSync(temporary, { recursive: true });
    throw new Error(`Fetching Apache Kafka ${KAFKA_VERSION} failed:\n${stdout}${stderr}`);
  }
  if (existsSync(LIB)) rmSync(temporary, { recursive: true });
  else renameSync(temporary, LIB);
  return LIB;
}

/**
 * Starts a broker and waits until it answers. Give `directory` (and `port`, `controllerPort`) of an earlier one to start
 * it again on its data, e.g. after `kill()`.
 */
export async function startLocalBroker(options = {}) {
  const portsAreGiven = options.port !== undefined || options.controllerPort !== undefined;
  for (let left = portsAreGiven ? 0 : PORT_TRIES - 1; ; left--) {
    try {
      return await startOn(options);
    } catch (error) {
      // Another program took a port between the choice and its use: others are chosen.
      if (left <= 0 || !error.message.includes(PORT_TAKEN)) throw error;
    }
  }
}

async function startOn(options) {
  fetchBroker();
  const missing = missingForBroker();
  if (missing) throw new Error(missing);
  const directory = options.directory ?? (await mkdtemp(join(tmpdir(), 'tallybay-kafka-')));
  const port = options.port ?? (await freePort());
  const controllerPort = options.controllerPort ?? (await freePort());
  const properties = join(directory, 'server.properties');
  mkdirSync(directory, { recursive: true });
  const advertisedPort = options.advertisedPort ?? port;
  writeFileSync(properties, brokerProperties({ directory, port, controllerPort, advertisedPort }));
  if (!existsSync(join(directory, 'data', 'meta.properties'))) format(properties);
  const logPath = join(directory, 'broker.log');
  const log = openSync(logPath, 'w');
  const child = spawn('java', javaArguments('kafka.Kafka', [properties], options.heapMb), {
    stdio: ['ignore', log, log],
    detached: options.detached ?? false,
  });
  closeSync(log);
  const exited = new Promise((resolve) => child.once('exit', resolve));
  const broker = {
    brokers: [`127.0.0.1:${port}`],
    directory,
    port,
    controllerPort,
    pid: child.pid,
    logPath,
    /** Ends it in order; removes its data unless told to keep it. */
    async stop({ keepData = false } = {}) {
      child.kill('SIGTERM');
      await Promise.race([exited, sleep(STOP_WITHIN_MS, undefined, { ref: false })]);
      child.kill('SIGKILL');
      await exited;
      if (!keepData) await rm(directory, { recursive: true, force: true });
    },
    /** Ends it as a crash would (SIGKILL); the data stay. */
    async kill() {
      child.kill('SIGKILL');
      await exited;
    },
  };
  await untilReady(child, logPath);
  if (options.detached) child.unref();
  return broker;
}

function brokerProperties({ directory, port, controllerPort, advertisedPort }) {
  return Object.entries({
    'process.roles': 'broker,controller',
    'node.id': 1,
    'controller.quorum.bootstrap.servers': `127.0.0.1:${controllerPort}`,
    listeners: `PLAINTEXT://127.0.0.1:${port},CONTROLLER://127.0.0.1:${controllerPort}`,
    'advertised.listeners': `PLAINTEXT://127.0.0.1:${advertisedPort},CONTROLLER://127.0.0.1:${controllerPort}`,
    'controller.listener.names': 'CONTROLLER',
    'log.dirs': join(directory, 'data'),
    'offsets.topic.replication.factor': 1,
    'offsets.topic.num.partitions': 4,
    'transaction.state.log.replication.factor': 1,
    'transaction.state.log.min.isr': 1,
    'transaction.state.log.num.partitions': 1,
    'share.coordinator.state.topic.replication.factor': 1,
    'share.coordinator.state.topic.min.isr': 1,
    'group.initial.rebalance.delay.ms': 0,
    'auto.create.topics.enable': false,
    // After a kill the broker may register again only when its old session has ended (9 s by default). Much less than that,
    // and on a machine with too much to do it is fenced, leaderless, again and again.
    'broker.session.timeout.ms': 6_000,
    'broker.heartbeat.interval.ms': 500,
    'message.max.bytes': 9 * 1024 * 1024,
    'log.retention.check.interval.ms': 10_000,
  })
    .map(([key, value]) => `${key}=${value}\n`)
    .join('');
}

function javaArguments(mainClass, rest, heapMb = 512) {
  const log4j = `-Dlog4j2.configurationFile=${join(HERE, 'log4j2.properties')}`;
  // A broker for tests lives for minutes: the quick compiler and collector halve its start.
  return [
    `-Xmx${heapMb}m`,
    '-XX:TieredStopAtLevel=1',
    '-XX:+UseSerialGC',
    log4j,
    '-cp',
    join(LIB, '*'),
    mainClass,
    ...rest,
  ];
}

function format(properties) {
  const uuid = java('kafka.tools.StorageTool', ['random-uuid']).trim().split('\n').at(-1);
  java('kafka.tools.StorageTool', ['format', '--standalone', '-t', uuid, '-c', properties]);
}

function java(mainClass, rest) {
  const { status, stdout, stderr } = spawnSync('java', javaArguments(mainClass, rest), { encoding: 'utf8' });
  if (status !== 0) throw new Error(`${mainClass} ${rest[0]} failed:\n${stdout}${stderr}`);
  return stdout;
}

/** The broker says "Kafka Server started" once all its listeners take requests. */
async function untilReady(child, logPath) {
  const giveUpAt = Date.now() + READY_WITHIN_MS;
  for (;;) {
    const log = await readFile(logPath, 'utf8');
    if (log.includes('Kafka Server started')) return;
    const ended = child.exitCode !== null || child.signalCode !== null;
    if (ended || Date.now() > giveUpAt) {
      child.kill('SIGKILL');
      throw new Error(`The broker ${ended ? 'ended' : 'was not ready in time'}; from ${logPath}:\n${told(log)}`);
    }
    await sleep(50);
  }
}

/** Errors first: after them a broker says at length how it shuts down. */
function told(log) {
  const errors = log.split('\n').filter((line) => /ERROR|FATAL|^Caused by/.test(line));
  return [...errors.slice(0, 10), log.slice(-2000)].join('\n');
}
