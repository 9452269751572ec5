import { describe, expect, it } from 'vitest';
import { isClean, type Report, reportLines } from '../../faults/report.js';
import {
  brokerKills,
  decodeKills,
  duplicateDeliveries,
  networkCut,
  rebalances,
  receiverKills,
  type ScenarioOptions,
} from '../../faults/scenarios.js';

// The promise (issue "Apache Kafka for real"): whatever dies, every acknowledged row is in the lake exactly once, and nothing
// is reported as stored that is not there. `npm run -s faults` does the same more often; docs/faults.md has its totals.

const seed = Math.floor(Math.random() * 1e6);
const tell = (line: string) => console.log(line);
const options = (carrier: ScenarioOptions['carrier'], times: number): ScenarioOptions => ({
  carrier,
  times,
  seed,
  tell,
});

function expectClean(report: Report): void {
  console.log(`${reportLines(report).join('\n')} (seed ${seed})`);
  expect(report, JSON.stringify(report, null, 1)).toSatisfy(isClean);
  expect(report.uploads).toBeGreaterThan(0);
}

describe('every acknowledged row is in the lake exactly once', { timeout: 300_000 }, () => {
  it('when a decode worker is killed, on Kafka', async () => expectClean(await decodeKills(options('kafka', 3))));
  it('when a decode worker is killed, on the spool', async () => expectClean(await decodeKills(options('spool', 2))));
  it('when the receiver is killed', async () => expectClean(await receiverKills(options('spool', 2))));
  it('when the broker is killed', async () => expectClean(await brokerKills(options('kafka', 1))));
  it('when workers join and leave', async () => expectClean(await rebalances(options('kafka', 3))));
  it('when messages are delivered again', async () => expectClean(await duplicateDeliveries(options('kafka', 20))));
  it('when the network to the broker is cut', async () =>
    expectClean(await networkCut({ ...options('kafka', 1), seconds: 8 })));
});
