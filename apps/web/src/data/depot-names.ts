import { signal } from '@preact/signals';
import type { Depot } from '@tallybay/contracts';

/** By id. Empty until they are fetched: the ids stand in their place until then, and where that did not work. */
export const depotNames = signal<ReadonlyMap<string, string>>(new Map());

/** Two depots of one name are told apart by their ids. */
export function knowDepots(depots: readonly Depot[]): void {
  const count = Map.groupBy(depots, ({ name }) => name);
  depotNames.value = new Map(
    depots.map(({ id, name }) => [id, (count.get(name)?.length ?? 0) > 1 ? `${name} (${id})` : name]),
  );
}

/** The depot as people call it. Whoever draws it is drawn again when names arrive. */
export const depotName = (id: string): string => depotNames.value.get(id) || id;

/** Choices of a list, each depot once, ordered as they read. */
export const depotChoices = (ids: readonly string[]): { value: string; text: string }[] =>
  [...new Set(ids)]
    .map((value) => ({ value, text: depotName(value) }))
    .toSorted((left, right) => left.text.localeCompare(right.text));
