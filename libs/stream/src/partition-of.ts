/**
 * MurmurHash2, 32 bit, seed 0x9747b28c, as Apache Kafka's clients use it for keys
 * (source: org.apache.kafka.common.utils.Utils.murmur2, Apache Kafka 4.x). Result is a signed 32-bit integer.
 */
export function murmur2(data: Uint8Array): number {
  const m = 0x5bd1e995;
  const length = data.length;
  let hash = 0x9747b28c ^ length;
  const words = length >> 2;
  for (let word = 0; word < words; word++) {
    const at = word * 4;
    let k = data[at]! | (data[at + 1]! << 8) | (data[at + 2]! << 16) | (data[at + 3]! << 24);
    k = Math.imul(k, m);
    k ^= k >>> 24;
    k = Math.imul(k, m);
    hash = Math.imul(hash, m) ^ k;
  }
  const tail = words * 4;
  const left = length - tail;
  if (left > 0) {
    if (left === 3) hash ^= data[tail + 2]! << 16;
    if (left >= 2) hash ^= data[tail + 1]! << 8;
    hash = Math.imul(hash ^ data[tail]!, m);
  }
  hash ^= hash >>> 13;
  hash = Math.imul(hash, m);
  return hash ^ (hash >>> 15);
}

/** The partition that Kafka's default partitioner gives to this key: positive murmur2 of its UTF-8 bytes, modulo. */
export function partitionOf(key: string, partitions: number): number {
  return (murmur2(Buffer.from(key)) & 0x7fffffff) % partitions;
}
