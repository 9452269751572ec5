// Sends numbered messages to the spool as fast as it can, several sends at a time, and prints each key's number once its
// send has been acknowledged. Started by tests, which end it at any moment. Runs on the build (`npm run build`).
// Arguments: directory, topic, prefix of the keys, first number.
import { openStream } from '@tallybay/stream';

const [directory, topic, prefix, first] = process.argv.slice(2);
const KEYS = 6;
const stream = await openStream({ kind: 'spool', directory, topics: [topic], partitions: 2, segmentBytes: 256 * 1024 });
await stream.prepare();
const producer = await stream.producer();
process.stdout.write('ready\n');

async function sendKey(key) {
  for (let n = Number(first); ; n++) {
    const value = Buffer.concat([Buffer.from(`${key}:${n}|`), Buffer.alloc((n * 577) % 9000, n)]);
    await producer.send(topic, [{ key, value, headers: { n: `${n}` } }]);
    process.stdout.write(`${key}:${n}\n`);
  }
}
await Promise.all(Array.from({ length: KEYS }, (_, key) => sendKey(`${prefix}${key}`)));
