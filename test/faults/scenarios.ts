import { randomInt, randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { anyBroker, startBroker } from './broker.js';
import { CuttableProxy } from './cuttable-proxy.js';
import { freePort } from './free-port.js';
import { Load } from './load.js';
import { Path } from './path.js';
import { Repeater } from './repeater.js';
import { compareLake, type Report } from './report.js';

export type Carrier = 'spool' | 'kafka';

export interface ScenarioOptions {
  carrier: Carrier;
  /** How often the fault happens. */
  times: number;
  seed: number;
  tell(line: string): void;
}

/** Kafka's own least session time-out, so that a killed worker's partitions move on soon. */
const KAFKA_SETTINGS = { TALLYBAY_KAFKA_SESSION_SECONDS: '6', TALLYBAY_KAFKA_PARTITIONS: '6' };

/** Topics and groups of its own, so that a broker may be shared. */
export const kafkaEnvironment = (brokers: string[]): Record<string, string> => ({
  ...KAFKA_SETTINGS,
  TALLYBAY_KAFKA_TOPIC_PREFIX: `f${randomUUID().slice(0, 8)}.`,
  TALLYBAY_KAFKA_BROKERS: brokers.join(','),
});

export interface Scene {
  path: Path;
  load: Load;
  /** Notes what was done once more, for the report. */
  count(what: string): void;
  /** How many uploads were reported as stored before they were there; asked again and again. */
  look(): Promise<void>;
}

/** What a report says of a kill that may have cost something. */
const BUSY = 'of them while uploads were under way';

/** A path under load, taken down at the end, and compared with what was acknowledged. */
export async function scene(
  options: ScenarioOptions,
  facts: { name: string; done: Record<string, number>; environment: Record<string, string> },
  play: (scene: Scene) => Promise<void>,
): Promise<Report> {
  const beganMs = Date.now();
  const path = await Path.create(facts.environment);
  let reportedTooEarly = 0;
  try {
    const receivers = () => path.processes.filter((process) => process.role !== 'decode').map((process) => process.url);
    const load = new Load(receivers, options.seed);
    const look = async () => {
      const absent = await path.storedButAbsent();
      reportedTooEarly += absent.length;
      if (absent.length > 0) options.tell(`stored but not in the lake: ${absent.join(', ')}`);
    };
    const count = (what: string) => {
      facts.done[what] = (facts.done[what] ?? 0) + 1;
    };
    await play({ path, load, look, count });
    await load.stop();
    // A path that stands still is compared too: what is missing then is what was lost.
    const unsettled = await path.settle().then(
      () => null,
      (error: Error) => error.message,
    );
    if (unsettled !== null) options.tell(unsettled);
    await look();
    const { name, done } = facts;
    return await compareLake(path, load, { name, done, reportedTooEarly, settled: unsettled === null, beganMs });
  } finally {
    await path.close();
  }
}

export async function withBroker<T>(
  carrier: Carrier,
  work: (environment: Record<string, string>) => Promise<T>,
): Promise<T> {
  if (carrier === 'spool') return work({});
  const broker = await anyBroker();
  try {
    return await work(kafkaEnvironment(broker.brokers));
  } finally {
    await broker.stop();
  }
}

export const moment = (most: number) => sleep(randomInt(0, most));

/** A decode worker is killed (SIGKILL) at random moments under load, and started again. */
export function decodeKills(options: ScenarioOptions): Promise<Report> {
  const { carrier, times, tell } = options;
  return withBroker(carrier, (environment) =>
    scene(options, { name: `decode worker killed, ${carrier}`, done: { kills: times }, environment }, async (on) => {
      await on.path.add('receive');
      const workers = [await on.path.add('decode'), await on.path.add('decode')];
      on.load.start();
      for (let kill = 0; kill < times; kill++) {
        const worker = workers[kill % 2]!;
        await moment(3_000);
        if (await on.path.isBusy()) on.count(BUSY);
        await worker.kill();
        if (kill % 5 === 4 && kill + 1 < times) {
          // Once more on its way up: half-way through taking over what it had left.
          kill++;
          await worker.start(false);
          await moment(3_000);
          await worker.kill();
          on.count('of them while starting');
        }
        await worker.start();
        await on.look();
        if (kill % 10 < 2) tell(`${kill + 1} of ${times} kills, ${on.load.acknowledged.length} uploads`);
      }
    }),
  );
}

/** The receiver is killed under load: what it had acknowledged must come through, what it had not is sent again. */
export function receiverKills(options: ScenarioOptions): Promise<Report> {
  const { carrier, times, tell } = options;
  return withBroker(carrier, (environment) =>
    scene(options, { name: `receiver killed, ${carrier}`, done: { kills: times }, environment }, async (on) => {
      const receiver = await on.path.add('receive');
      await on.path.add('decode');
      on.load.start();
      for (let kill = 0; kill < times; kill++) {
        await moment(4_000);
        if (on.load.onTheWay > 0) on.count('of them while uploads were arriving');
        await receiver.kill();
        await receiver.start();
        await on.look();
        if (kill % 10 === 9) tell(`${kill + 1} of ${times} kills, ${on.load.acknowledged.length} uploads`);
      }
    }),
  );
}

/** The broker is killed under load and comes back on its data. */
export async function brokerKills(options: ScenarioOptions): Promise<Report> {
  const { times, tell } = options;
  let broker = await startBroker();
  const { directory, port, controllerPort } = broker;
  try {
    const facts = { name: 'broker killed', done: { kills: times }, environment: kafkaEnvironment(broker.brokers) };
    return await scene(options, facts, async (on) => {
      await on.path.add('receive');
      await on.path.add('decode');
      on.load.start();
      for (let kill = 0; kill < times; kill++) {
        await moment(3_000);
        if (await on.path.isBusy()) on.count(BUSY);
        await broker.kill();
        broker = await startBroker({ directory, port, controllerPort });
        const before = on.load.acknowledged.length;
        await eventually(() => on.load.acknowledged.length > before + 2, 'uploads are acknowledged again');
        await on.look();
        tell(`${kill + 1} of ${times} kills, ${on.load.acknowledged.length} uploads`);
      }
    });
  } finally {
    await broker.stop();
  }
}

/** Workers join and leave in order, so that partitions change hands under load again and again. */
export function rebalances(options: ScenarioOptions): Promise<Report> {
  const { carrier, times, tell } = options;
  return withBroker(carrier, (environment) =>
    scene(
      options,
      { name: `workers join and leave, ${carrier}`, done: { 'joins and leaves': times }, environment },
      async (on) => {
        await on.path.add('receive');
        await on.path.add('decode');
        on.load.start();
        const guest = await on.path.add('decode');
        for (let turn = 1; turn < times; turn++) {
          await moment(2_000);
          if (guest.alive) await guest.stop();
          else await guest.start();
          await on.look();
          if (turn % 10 === 0) tell(`${turn} of ${times} changes, ${on.load.acknowledged.length} uploads`);
        }
      },
    ),
  );
}

/** The network between the services and the broker is cut for a while, twice as long as a worker's session. */
export async function networkCut(options: ScenarioOptions & { seconds: number }): Promise<Report> {
  const { times, seconds } = options;
  const advertisedPort = await freePort();
  const broker = await startBroker({ advertisedPort });
  const proxy = await CuttableProxy.start(advertisedPort, broker.port);
  try {
    const facts = {
      name: `network to the broker cut for ${seconds} s`,
      done: { cuts: times },
      environment: kafkaEnvironment([`127.0.0.1:${advertisedPort}`]),
    };
    return await scene(options, facts, async (on) => {
      await on.path.add('receive');
      await on.path.add('decode');
      on.load.start();
      for (let cut = 0; cut < times; cut++) {
        await sleep(2_000);
        proxy.cut();
        await sleep(seconds * 1000);
        proxy.mend();
        const before = on.load.acknowledged.length;
        await eventually(() => on.load.acknowledged.length > before + 2, 'uploads are acknowledged again');
        await on.look();
      }
    });
  } finally {
    await proxy.close();
    await broker.stop();
  }
}

/**
 * Every message that reaches the stream is put there once more, some right behind the first, some much later and out of
 * order: what a producer that lost an answer does, only worse. `times` uploads.
 */
export function duplicateDeliveries(options: ScenarioOptions): Promise<Report> {
  const { carrier, times } = options;
  return withBroker(carrier, (environment) =>
    scene(options, { name: `deliveries repeated, ${carrier}`, done: { uploads: times }, environment }, async (on) => {
      const receiver = await on.path.add('receive');
      const repeater = await Repeater.start(on.path.home, environment);
      try {
        for (let n = 0; n < times / 2; n++) await on.load.sendOne();
        // Half before anything is decoded, half while the worker runs.
        await repeater.repeat();
        await on.path.add('decode');
        for (let n = 0; n < times / 2; n++) {
          await on.load.sendOne();
          if (n % 5 === 0) await repeater.repeat();
        }
        await repeater.repeat();
        if (repeater.repeated < times) throw new Error(`only ${repeater.repeated} messages were repeated`);
        options.tell(`${repeater.repeated} messages repeated`);
        await receiver.untilReady();
      } finally {
        await repeater.close();
      }
    }),
  );
}

export async function eventually(
  holds: () => boolean | Promise<boolean>,
  what: string,
  withinMs = 300_000,
): Promise<void> {
  const untilMs = Date.now() + withinMs;
  while (!(await holds())) {
    if (Date.now() > untilMs) throw new Error(`not within ${withinMs / 1000} s: ${what}`);
    await sleep(100);
  }
}
