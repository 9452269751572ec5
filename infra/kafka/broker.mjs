// `npm run kafka -- fetch|start|stop|run`: a local Apache Kafka broker on a free port, for tests and for trying things out.
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fetchBroker, KAFKA_VERSION, startLocalBroker, TOOLS } from './local-broker.mjs';

const STATE = join(TOOLS, 'kafka-running.json');
const STOP_WITHIN_MS = 20_000;

const COMMANDS = {
  fetch() {
    console.log(`Apache Kafka ${KAFKA_VERSION} is in ${fetchBroker()}`);
  },

  async start() {
    const running = readRunning();
    if (running) return announce(running, 'runs already');
    const { brokers, pid, directory, logPath } = await startLocalBroker({ detached: true });
    mkdirSync(TOOLS, { recursive: true });
    writeFileSync(STATE, JSON.stringify({ brokers, pid, directory, logPath }));
    announce({ brokers, logPath }, 'is running');
  },

  async stop() {
    const running = readRunning();
    if (!running) return console.log('No broker started by this script is running.');
    process.kill(running.pid, 'SIGTERM');
    const giveUpAt = Date.now() + STOP_WITHIN_MS;
    while (isAlive(running.pid) && Date.now() < giveUpAt) await sleep(100);
    if (isAlive(running.pid)) process.kill(running.pid, 'SIGKILL');
    rmSync(running.directory, { recursive: true, force: true });
    rmSync(STATE);
    console.log('The broker has stopped; its data folder is removed.');
  },

  async run() {
    const broker = await startLocalBroker();
    announce(broker, 'is running; Ctrl-C ends it');
    await new Promise((resolve) => {
      process.once('SIGINT', resolve);
      process.once('SIGTERM', resolve);
    });
    await broker.stop();
  },
};

function announce({ brokers, logPath }, what) {
  console.log(`Apache Kafka ${KAFKA_VERSION} ${what} (log: ${logPath})\nKAFKA_BROKERS=${brokers.join(',')}`);
}

function readRunning() {
  if (!existsSync(STATE)) return undefined;
  const state = JSON.parse(readFileSync(STATE, 'utf8'));
  if (isAlive(state.pid)) return state;
  rmSync(STATE);
  return undefined;
}

function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

const command = COMMANDS[process.argv[2]];
if (!command) {
  console.error(`Usage: npm run kafka -- ${Object.keys(COMMANDS).join('|')}`);
  process.exitCode = 64;
} else {
  try {
    await command();
  } catch (error) {
    console.error(error.message);
    process.exitCode = 69;
  }
}
