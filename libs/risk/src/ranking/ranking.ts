import type { RankedVehicle, Ranking, Reason, UnrankedVehicle } from '@tallybay/contracts';
import { isoInstant, weekWindow } from '../calendar/iso-week.js';
import type { RankingInput } from '../facts.js';
import { rounded } from '../figures.js';
import { sinceRepair } from '../repairs/since-repair.js';
import { DEFAULT_RULES, type RuleSet, ruleVersion } from '../rules/rule-set.js';
import { ageingInputs, ageingReasons } from './ageing-inputs.js';
import { confidenceOf } from './confidence.js';
import { cycleInputs } from './cycle-inputs.js';
import { withoutExcluded } from './exclusions.js';
import { type JudgedVehicle, judgeVehicles } from './judge.js';
import { scoreTrend } from './trend.js';
import { unrankedCauses } from './unranked.js';

export const CAUTION =
  'This list ranks work for the shop. It does not clear any vehicle as safe to drive. The maker’s limits and the ' +
  'local inspection programme prevail over the rules used here; work on hot cooling systems follows the shop’s procedures.';

const COMPONENTS = ['heat', 'codes', 'readiness'] as const;

/**
 * The week's ranking. Pure: the same facts and rules give the same ranking, whatever the order of the facts.
 *
 * score = 1 - product over components of (1 - weight x component), so one severe component cannot be averaged away.
 * A component that is not known counts as `assumedWhenUnknown`: not as zero, so a silent vehicle stands above those known
 * to be well, and far less than any finding. It stays null with its state in the row; `inputs.assumed` says what was used.
 * A component that a manager left out counts as nothing and says so; a vehicle that is left out is listed unranked.
 * Equal scores are ordered by vehicle id. @throws TallybayError `week_invalid`
 */
export function computeRanking(input: RankingInput, rules: RuleSet = DEFAULT_RULES): Ranking {
  const window = weekWindow(input.week, input.timeZone);
  const judged = judgeVehicles(input.vehicles.map(sinceRepair), rules).map((item) => withoutExcluded(item, rules));
  const causes = new Map(judged.map((item) => [item, unrankedCauses(item, rules)]));
  const ranked = judged.filter((item) => causes.get(item)!.length === 0);
  const before = new Map(input.previous?.ranked.map((row) => [row.vehicle, row]));
  const rows = ranked
    .map((item) => rankedRow(item, rules))
    .sort((a, b) => b.score - a.score || (a.vehicle < b.vehicle ? -1 : 1))
    .map((row, index) => withChange({ ...row, rank: index + 1 }, before.get(row.vehicle)));
  const ranking: Ranking = {
    week: input.week,
    timeZone: input.timeZone,
    from: isoInstant(window.fromMs, input.timeZone),
    to: isoInstant(window.toMs, input.timeZone),
    revision: input.revision,
    provisional: input.provisional,
    ruleVersion: ruleVersion(rules),
    ranked: rows,
    unranked: judged.filter((item) => causes.get(item)!.length > 0).map((item) => unrankedRow(item, causes.get(item)!)),
    changes: [],
    caution: CAUTION,
  };
  const history = [...(input.history ?? []), ...(input.previous ? [input.previous] : [])];
  const trends = rows.map((row) => scoreTrend(history, ranking, row.vehicle));
  return {
    ...ranking,
    ranked: rows.map((row, index) => ({ ...row, inputs: { ...row.inputs, trend: trends[index] } })),
  };
}

function rankedRow(item: JudgedVehicle, rules: RuleSet): Omit<RankedVehicle, 'rank' | 'change'> {
  const { facts, heat, components } = item;
  const without = COMPONENTS.filter((name) => components[name].component.score === null);
  const unknown = without.filter((name) => components[name].component.state !== 'excluded');
  const share = (COMPONENTS.length - without.length) / COMPONENTS.length;
  const clean = COMPONENTS.reduce((left, name) => {
    const assumed = unknown.includes(name) ? rules.assumedWhenUnknown[name] : 0;
    const score = components[name].component.score ?? assumed;
    return left * (1 - rules.weights[name] * score);
  }, 1);
  return {
    ...identity(item),
    score: rounded(1 - clean, 6),
    heat: components.heat.component,
    codes: components.codes.component,
    readiness: components.readiness.component,
    coverage: {
      share: rounded(share, 4),
      engineHours: rounded(heat.engineHours, 4),
      distanceKm: heat.distanceKm === null ? null : rounded(heat.distanceKm, 3),
      drives: facts.drives.length,
      snapshots: facts.snapshots.filter(({ atMs }) => atMs >= facts.fromMs && atMs < facts.toMs).length,
    },
    confidence: confidenceOf(
      {
        ...{ coverage: share, engineHours: heat.engineHours, classSize: item.classSize },
        scoreWidth: components.heat.width ?? null,
      },
      rules.confidence,
    ),
    reasons: reasonsOf(item, rules),
    inputs: {
      weights: rules.weights,
      heat: components.heat.inputs,
      codes: components.codes.inputs,
      readiness: components.readiness.inputs,
      ageing: ageingInputs(facts, heat, rules),
      cycles: cycleInputs(facts, heat, rules),
      ...(facts.overlaps
        ? { overlaps: facts.overlaps.map((one) => ({ ...one, seconds: rounded(one.seconds, 1) })) }
        : {}),
      assumed: Object.fromEntries(unknown.map((name) => [name, rules.assumedWhenUnknown[name]])),
    },
  };
}

/** Heaviest first; ageing of fluids informs and stands last. */
function reasonsOf({ facts, heat, components }: JudgedVehicle, rules: RuleSet): Reason[] {
  const scored = COMPONENTS.flatMap((name) => components[name].reasons.map((reason) => ({ reason, name })))
    .sort((a, b) => rules.weights[b.name] * b.reason.weight - rules.weights[a.name] * a.reason.weight)
    .map(({ reason }) => reason);
  const excluded = components.heat.component.state === 'excluded';
  return excluded ? scored : [...scored, ...ageingReasons(facts, heat, rules)];
}

function unrankedRow(item: JudgedVehicle, causes: UnrankedVehicle['causes']): UnrankedVehicle {
  return { ...identity(item), causes };
}

const identity = ({ facts }: JudgedVehicle) => ({
  vehicle: facts.vehicle.id,
  vehicleClass: facts.vehicle.vehicleClass,
  depot: facts.vehicle.depot,
  ...(facts.vehicle.route === undefined ? {} : { route: facts.vehicle.route }),
});

function withChange(row: Omit<RankedVehicle, 'change'>, before: RankedVehicle | undefined): RankedVehicle {
  const change = before
    ? { rank: before.rank - row.rank, score: rounded(row.score - before.score, 6) }
    : { rank: null, score: null };
  return { ...row, change };
}
