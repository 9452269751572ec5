// A member of a group in a process of its own: prints what it gets, commits each call, and says when it has given up its
// partitions. Ends at the end of its standard input. Arguments: directory, topic, group.
import { openStream } from '@tallybay/stream';

const [directory, topic, group] = process.argv.slice(2);
const stream = await openStream({ kind: 'spool', directory, topics: [topic], partitions: 2 });
const consumer = await stream.consumer(group, [topic]);
await consumer.run({
  onMessages: async (messages, assignment) => {
    await consumer.commit(assignment, messages.at(-1).offset + 1n);
    for (const { value } of messages) process.stdout.write(`${Buffer.from(value).toString().split('|')[0]}\n`);
  },
});
process.stdout.write('ready\n');
process.stdin.on('end', async () => {
  await stream.close();
  process.stdout.write('closed\n');
});
process.stdin.resume();
