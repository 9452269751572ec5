import { type VehicleHeat, vehicleHeat } from '../exposure/vehicle-heat.js';
import type { VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import { HEAT_SIGNALS, type HeatSignal } from '../rules/stages.js';
import { classAir } from '../sensors/class-air.js';
import { vehicleFeatures } from '../warning/drive-features.js';
import { classEvidence } from '../warning/early-warning.js';
import { codesComponent } from './codes-component.js';
import { type ComponentResult, classRates, enoughHours, heatComponent, type SignalRate } from './heat-component.js';
import { readinessComponent } from './readiness-component.js';
import { withWarnings } from './warnings.js';

export interface JudgedVehicle {
  facts: VehicleFacts;
  heat: VehicleHeat;
  /** Vehicles of its class that ran long enough to be compared with, itself among them. */
  classSize: number;
  components: { heat: ComponentResult; codes: ComponentResult; readiness: ComponentResult };
}

/** The three components of every vehicle, class by class; the answer is in the order of the vehicles' ids. */
export function judgeVehicles(vehicles: readonly VehicleFacts[], rules: RuleSet): JudgedVehicle[] {
  const ordered = [...vehicles].sort((a, b) => (a.vehicle.id < b.vehicle.id ? -1 : 1));
  const classes = Map.groupBy(ordered, ({ vehicle }) => vehicle.vehicleClass);
  const judged = [...classes.values()].flatMap((members) => judgeClass(members, rules));
  return judged.sort((a, b) => (a.facts.vehicle.id < b.facts.vehicle.id ? -1 : 1));
}

function judgeClass(members: readonly VehicleFacts[], rules: RuleSet): JudgedVehicle[] {
  const air = classAir(members, rules.sensors);
  const heats = members.map((facts) => vehicleHeat(facts, rules, air));
  const rates = HEAT_SIGNALS.map((signal) => [signal, classRates(heats, signal, rules.heat)] as const);
  const evidence = classEvidence(
    members.map((facts, index) => vehicleFeatures(facts, heats[index]!.findings, rules, air)),
    Math.max(...members.map(({ toMs }) => toMs)),
    rules.warning,
  );
  const classSize = heats.filter((heat) => enoughHours(heat, rules.heat)).length;
  return members.map((facts, index) => {
    const heat = heats[index]!;
    const own: Partial<Record<HeatSignal, SignalRate | null>> = Object.fromEntries(
      rates.map(([signal, list]) => [signal, list[index] ?? null]),
    );
    const components = {
      heat: withWarnings(
        heatComponent(heat, own, rules.heat),
        evidence.get(facts.vehicle.id),
        rules.warning,
        heat.engineHours > 0 && !enoughHours(heat, rules.heat),
      ),
      codes: codesComponent(facts, rules),
      readiness: readinessComponent(facts, rules),
    };
    return { facts, heat, classSize, components };
  });
}
