import { murmur2, partitionOf } from '@tallybay/stream';
import fc from 'fast-check';
import { Partitioners } from 'kafkajs';
import { describe, expect, it } from 'vitest';

describe('murmur2', () => {
  // Source: Apache Kafka, clients/src/test/java/org/apache/kafka/common/utils/UtilsTest.java, testMurmur2 (from memory).
  const published: [string, number][] = [
    ['21', -973932308],
    ['foobar', -790332482],
    ['a-little-bit-long-string', -985981536],
    ['a-little-bit-longer-string', -1486304829],
    ['lkjh234lh9fiuh90y23oiuhsafujhadof229phr9h19h89h8', -58897971],
    ['abc', 479470107],
  ];
  it.each(published)('of "%s" is %d', (text, hash) => {
    expect(murmur2(Buffer.from(text))).toBe(hash);
  });
});

describe('partitionOf', () => {
  it('gives each key the partition that the Kafka client gives it', () => {
    const partitioner = Partitioners.DefaultPartitioner();
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), fc.integer({ min: 1, max: 64 }), (key, count) => {
        // An empty key is none for the client, which then picks partitions in turn.
        fc.pre(key.length > 0);
        const partitionMetadata = Array.from({ length: count }, (_, partitionId) => ({
          partitionId,
          leader: 0,
          replicas: [0],
          isr: [0],
          partitionErrorCode: 0,
        }));
        const theirs = partitioner({ topic: 't', partitionMetadata, message: { key, value: null } });
        expect(partitionOf(key, count)).toBe(theirs);
      }),
    );
  });
});
