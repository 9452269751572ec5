/** A stretch that one log has, and that another log of the same time may have too. */
export interface Stretch {
  /** Equal for stretches that are the same thing, apart from the log: vehicle, signal, limit. */
  what: string;
  uploadId: string;
  fromMs: number;
  toMs: number;
  seconds: number;
}

/**
 * Leaves out what a second log of the same time has again: of two stretches of one thing that meet and come from different
 * uploads the one with more seconds stays, of equal ones that of the lower upload id. Keeps the order.
 */
export function eachOnce<T>(items: readonly T[], stretchOf: (item: T) => Stretch): T[] {
  const groups = Map.groupBy(
    items.map((item) => ({ item, ...stretchOf(item) })),
    ({ what }) => what,
  );
  const kept = new Set<T>();
  for (const group of groups.values()) {
    const chosen: typeof group = [];
    for (const one of group.toSorted((a, b) => b.seconds - a.seconds || (a.uploadId < b.uploadId ? -1 : 1)))
      if (
        !chosen.some((other) => other.uploadId !== one.uploadId && one.fromMs <= other.toMs && other.fromMs <= one.toMs)
      )
        chosen.push(one);
    for (const { item } of chosen) kept.add(item);
  }
  return items.filter((item) => kept.has(item));
}
