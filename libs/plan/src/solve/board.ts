import { minutesText } from '../model/places.js';
import { depotName, type Obstacle, openMinutes, type Place, type PlanProblem } from '../model/problem.js';
import { type BayNeed, type PresentPerson, type SkillMask, staffBays } from './staffing.js';

interface Cell {
  left: number;
  places: Place[];
  skills: SkillMask;
  /** A pinned visit stands here against the limits: nothing more goes in, and nobody need be found for it. */
  disputed: boolean;
}

/** What is placed so far, and whether one more place fits beside it. Capacity only: costs are not its concern. */
export class Board {
  readonly placed: (Place | null)[];
  /** By bay, then day. */
  private readonly cells: Cell[][];
  /** By spare limit, then day. */
  private readonly away: number[][];
  private readonly facts: BoardFacts;
  /** By vehicle, then day: visits there. */
  private readonly busy: Uint8Array[];

  constructor(
    readonly problem: PlanProblem,
    like?: Board,
  ) {
    this.facts = like?.facts ?? new BoardFacts(problem);
    this.cells = problem.bays.map(({ days }) =>
      days.map((day) => ({ left: openMinutes(day), places: [], skills: 0, disputed: false })),
    );
    this.away = problem.spares.map(() => problem.days.map(() => 0));
    this.busy = Array.from({ length: this.facts.vehicles }, () => new Uint8Array(problem.days.length));
    this.placed = problem.demands.map(() => null);
  }

  /** Whether the place can be put; the demand must not be placed already. */
  fits(place: Place): boolean {
    for (const { day, minutes } of place.parts) {
      const cell = this.cells[place.bay]![day]!;
      if (cell.left < minutes || cell.disputed) return false;
    }
    return this.dayLimit(place) === null && this.unstaffedDay(place) === null;
  }

  /** The same with words: null = it fits. */
  obstacle(place: Place): Obstacle | null {
    return this.dayObstacle(place) ?? this.bayObstacle(place) ?? this.staffObstacle(place);
  }

  put(place: Place): void {
    this.placed[place.demand] = place;
    this.count(place, 1);
    for (const { day, minutes } of place.parts) {
      const cell = this.cells[place.bay]![day]!;
      cell.left -= minutes;
      cell.places.push(place);
      cell.skills |= this.facts.needs[place.demand]!;
    }
  }

  /** A pinned visit that the limits would not allow: it stays, and its bay takes nothing else on those days. */
  putDisputed(place: Place): void {
    this.put(place);
    for (const { day } of place.parts) this.cells[place.bay]![day]!.disputed = true;
  }

  take(demand: number): Place | null {
    const place = this.placed[demand] ?? null;
    if (!place) return null;
    this.placed[demand] = null;
    this.count(place, -1);
    for (const { day, minutes } of place.parts) {
      const cell = this.cells[place.bay]![day]!;
      cell.left += minutes;
      cell.places = cell.places.filter((item) => item !== place);
      cell.skills = cell.places.reduce((mask, item) => mask | this.facts.needs[item.demand]!, 0);
    }
    return place;
  }

  isDisputed(bay: number, day: number): boolean {
    return this.cells[bay]![day]!.disputed;
  }

  visitsIn(bay: number, day: number): readonly Place[] {
    return this.cells[bay]![day]!.places;
  }

  leftIn(bay: number, day: number): number {
    return this.cells[bay]![day]!.left;
  }

  /** bay -> person for one day at one depot; null when it cannot be staffed. */
  staffed(depot: string, day: number): Map<number, number> | null {
    const needs = this.needsAt(depot, day);
    const people = this.facts.present(depot, day);
    const found = staffBays(needs, people);
    return found && new Map(needs.map(({ bay }, index) => [bay, people[found[index]!]!.person]));
  }

  /** First day and spare limit (or -1: the vehicle itself) that stand against it. */
  private dayLimit({ demand, day, lastDay }: Place): { day: number; spare: number } | null {
    const busy = this.busy[this.facts.vehicleOf[demand]!]!;
    for (let at = day; at <= lastDay; at += 1) {
      if (busy[at]! > 0) return { day: at, spare: -1 };
      for (const spare of this.facts.spareRows[demand]!)
        if (this.away[spare]![at]! >= this.problem.spares[spare]!.count) return { day: at, spare };
    }
    return null;
  }

  private unstaffedDay({ demand, bay, parts }: Place): number | null {
    const needs = this.facts.needs[demand]!;
    const { depot } = this.problem.bays[bay]!;
    for (const { day } of parts) {
      const cell = this.cells[bay]![day]!;
      if (cell.places.length > 0 && (cell.skills & needs) === needs) continue;
      if (!staffBays(this.needsAt(depot, day, { bay, skills: needs }), this.facts.present(depot, day))) return day;
    }
    return null;
  }

  private dayObstacle(place: Place): Obstacle | null {
    const limit = this.dayLimit(place);
    if (!limit) return null;
    const date = this.problem.days[limit.day];
    const { vehicle } = this.problem.demands[place.demand]!;
    if (limit.spare < 0) return { limit: 'already_in_shop', text: `${vehicle} has another visit on ${date}` };
    const { vehicleClass, count, depot } = this.problem.spares[limit.spare]!;
    const where = depot === null ? '' : ` of ${depotName(this.problem, depot)}`;
    const text = `No more than ${count} of the class ${vehicleClass}${where} can be spared at once, and on ${date} that many are in the shop`;
    return { limit: 'spares_used', text };
  }

  private bayObstacle({ demand, bay, parts }: Place): Obstacle | null {
    for (const { day, minutes } of parts) {
      const left = Math.max(0, this.leftIn(bay, day));
      if (minutes <= left && !this.isDisputed(bay, day)) continue;
      const needs = minutesText(this.problem.demands[demand]!.minutes);
      const text = `${this.problem.bays[bay]!.name} has ${minutesText(left)} left on ${this.problem.days[day]}, ${needs} are needed`;
      return { limit: 'bay_full', text };
    }
    return null;
  }

  private staffObstacle(place: Place): Obstacle | null {
    const day = this.unstaffedDay(place);
    if (day === null) return null;
    const { skills } = this.problem.demands[place.demand]!;
    const needs = skills.length > 0 ? ` who can do ${skills.join(' and ')}` : '';
    const text = `Nobody${needs} is free for ${this.problem.bays[place.bay]!.name} on ${this.problem.days[day]}`;
    return { limit: 'nobody_free', text };
  }

  private needsAt(depot: string, day: number, more?: BayNeed): BayNeed[] {
    const needs: BayNeed[] = [];
    for (const bay of this.facts.baysAt.get(depot) ?? []) {
      const cell = this.cells[bay]![day]!;
      const extra = more?.bay === bay;
      if (cell.disputed || (!extra && cell.places.length === 0)) continue;
      needs.push({ bay, skills: extra ? cell.skills | more.skills : cell.skills });
    }
    return needs;
  }

  private count({ demand, day, lastDay }: Place, change: 1 | -1): void {
    const busy = this.busy[this.facts.vehicleOf[demand]!]!;
    for (let at = day; at <= lastDay; at += 1) {
      busy[at]! += change;
      for (const row of this.facts.spareRows[demand]!) this.away[row]![at]! += change;
    }
  }
}

/** What boards of the same problem share. */
class BoardFacts {
  readonly needs: SkillMask[];
  readonly vehicleOf: number[];
  readonly vehicles: number;
  readonly spareRows: number[][];
  readonly baysAt: Map<string, number[]>;
  private readonly people = new Map<string, PresentPerson[]>();
  private readonly bit = new Map<string, number>();

  constructor(private readonly problem: PlanProblem) {
    for (const skill of problem.demands.flatMap(({ skills }) => skills))
      if (!this.bit.has(skill)) this.bit.set(skill, this.bit.size);
    // 31 different skills fit into a mask; a shop that asks for more would need wider ones.
    if (this.bit.size > 31) throw new RangeError(`${this.bit.size} different skills, at most 31`);
    this.needs = problem.demands.map(({ skills }) => this.mask(skills));
    const numbers = new Map<string, number>();
    this.vehicleOf = problem.demands.map(({ vehicle }) => {
      const known = numbers.get(vehicle) ?? numbers.size;
      numbers.set(vehicle, known);
      return known;
    });
    this.vehicles = numbers.size;
    this.spareRows = problem.demands.map(({ vehicleClass, depot }) =>
      problem.spares.flatMap((row, index) =>
        row.vehicleClass === vehicleClass && (row.depot === null || row.depot === depot) ? [index] : [],
      ),
    );
    this.baysAt = Map.groupBy(problem.bays.keys(), (bay) => problem.bays[bay]!.depot);
  }

  /** Those present, the ones with fewest skills first: who can do much is kept for what needs it. */
  present(depot: string, day: number): PresentPerson[] {
    const key = `${day} ${depot}`;
    let found = this.people.get(key);
    if (!found) {
      found = this.problem.people
        .flatMap((person, index) =>
          person.depot === depot && person.present[day] ? [{ person: index, skills: this.mask(person.skills) }] : [],
        )
        .sort((a, b) => bits(a.skills) - bits(b.skills) || a.person - b.person);
      this.people.set(key, found);
    }
    return found;
  }

  private mask(skills: readonly string[]): SkillMask {
    return skills.reduce((mask, skill) => {
      const bit = this.bit.get(skill);
      return bit === undefined ? mask : mask | (1 << bit);
    }, 0);
  }
}

function bits(mask: SkillMask): number {
  let count = 0;
  for (let rest = mask; rest !== 0; rest &= rest - 1) count += 1;
  return count;
}
