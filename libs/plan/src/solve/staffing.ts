/** Skills as bits, so that "has all of these" is one operation. */
export type SkillMask = number;

export interface BayNeed {
  bay: number;
  skills: SkillMask;
}

export interface PresentPerson {
  person: number;
  skills: SkillMask;
}

/**
 * A person for each bay that is worked on one day at one depot, by augmenting paths (a maximum bipartite matching).
 * @param people those present, in the order of preference
 * @returns for each need the position of its person in `people`, or null when not every bay can have one
 */
export function staffBays(needs: readonly BayNeed[], people: readonly PresentPerson[]): number[] | null {
  if (needs.length > people.length) return null;
  const needOf: number[] = people.map(() => -1);
  for (let need = 0; need < needs.length; need += 1)
    if (!augment({ needs, people, needOf, seen: people.map(() => false) }, need)) return null;
  const found = needs.map(() => -1);
  for (const [position, need] of needOf.entries()) if (need >= 0) found[need] = position;
  return found;
}

interface Matching {
  needs: readonly BayNeed[];
  people: readonly PresentPerson[];
  /** Position of a person -> the need they have, -1 = none. */
  needOf: number[];
  seen: boolean[];
}

function augment(matching: Matching, need: number): boolean {
  const { needs, people, needOf, seen } = matching;
  const wanted = needs[need]!.skills;
  for (let position = 0; position < people.length; position += 1) {
    if (seen[position] || (people[position]!.skills & wanted) !== wanted) continue;
    seen[position] = true;
    if (needOf[position]! < 0 || augment(matching, needOf[position]!)) {
      needOf[position] = need;
      return true;
    }
  }
  return false;
}
