/**
 * Vehicle classes with the constants of their lumped physical model. Orders of magnitude are common practice for such
 * vehicles (no source); what matters is that one set of constants makes speed, load, fuel, air and heat agree.
 */
export interface VehicleClassRow {
  id: string;
  label: string;
  fuel: 'gas' | 'diesel';
  turbo: boolean;
  /** Gross weight class for the VIN's position-7 rule: up to 4,536 kg or above. */
  light: boolean;
  share: number;
  massKg: [number, number];
  trailerKg: number;
  dragAreaM2: number;
  rollingCoefficient: number;
  tyreRadiusM: number;
  gears: readonly number[];
  finalDrive: number;
  idleRpm: number;
  ratedRpm: number;
  peakTorqueNm: number;
  displacementL: number;
  indicatedEfficiency: number;
  /** Friction power [kW] = first * n + second * n^2 with n in 1000 rpm. */
  frictionKw: [number, number];
  accessoryKw: number;
  boostKpa: number;
  /** Shares of all heat that the fuel leaves beside brake work. */
  heatToOil: number;
  heatToExhaust: [idle: number, full: number];
  heatToSurface: number;
  coolantJK: number;
  oilJK: number;
  transJK: number;
  /** Radiator conductance at unit airflow [W/K]; airflow = ram per km/h + fan at 2,000 rpm. */
  radiatorWK: number;
  ramPerKmh: number;
  fanAtRated: number;
  fanKw: number;
  thermostatC: [startsToOpen: number, full: number];
  oilCoolerWK: number;
  sumpWK: number;
  transCoolerWK: number;
  chargeCooler: number;
  pumpKw: number;
  duties: readonly { duty: DutyId; weight: number }[];
}

export type DutyId = 'town' | 'valley' | 'highway' | 'climb' | 'site' | 'pumping';

export const VEHICLE_CLASSES = [
  {
    id: 'service_pickup',
    label: 'service pickup',
    fuel: 'gas',
    turbo: false,
    light: true,
    share: 0.32,
    massKg: [2500, 3200],
    trailerKg: 1500,
    dragAreaM2: 1.5,
    rollingCoefficient: 0.011,
    tyreRadiusM: 0.39,
    gears: [4.17, 2.34, 1.52, 1.14, 0.87, 0.69],
    finalDrive: 3.73,
    idleRpm: 640,
    ratedRpm: 5000,
    peakTorqueNm: 540,
    displacementL: 5.3,
    indicatedEfficiency: 0.4,
    frictionKw: [2, 1],
    accessoryKw: 1.6,
    boostKpa: 0,
    heatToOil: 0.069,
    heatToExhaust: [0.26, 0.52],
    heatToSurface: 0.07,
    coolantJK: 118_000,
    oilJK: 30_000,
    transJK: 44_000,
    radiatorWK: 725,
    ramPerKmh: 1 / 105,
    fanAtRated: 0.75,
    fanKw: 4,
    thermostatC: [88, 97],
    oilCoolerWK: 235,
    sumpWK: 25,
    transCoolerWK: 85,
    chargeCooler: 0,
    pumpKw: 0,
    duties: duties({ town: 4, valley: 4, highway: 2, climb: 2, site: 2 }),
  },
  {
    id: 'van',
    label: 'van',
    fuel: 'gas',
    turbo: true,
    light: true,
    share: 0.25,
    massKg: [2600, 3400],
    trailerKg: 0,
    dragAreaM2: 2,
    rollingCoefficient: 0.011,
    tyreRadiusM: 0.36,
    gears: [4.69, 2.98, 2.14, 1.52, 1.14, 0.85, 0.68],
    finalDrive: 3.55,
    idleRpm: 700,
    ratedRpm: 4800,
    peakTorqueNm: 500,
    displacementL: 3.5,
    indicatedEfficiency: 0.4,
    frictionKw: [1.6, 0.85],
    accessoryKw: 1.6,
    boostKpa: 90,
    heatToOil: 0.075,
    heatToExhaust: [0.26, 0.5],
    heatToSurface: 0.07,
    coolantJK: 104_000,
    oilJK: 27_000,
    transJK: 40_000,
    radiatorWK: 650,
    ramPerKmh: 1 / 105,
    fanAtRated: 0.72,
    fanKw: 3,
    thermostatC: [88, 97],
    oilCoolerWK: 200,
    sumpWK: 25,
    transCoolerWK: 75,
    chargeCooler: 0.84,
    pumpKw: 0,
    duties: duties({ town: 6, valley: 3, highway: 3, climb: 1, site: 1 }),
  },
  {
    id: 'crew_bus',
    label: 'crew bus',
    fuel: 'diesel',
    turbo: true,
    light: false,
    share: 0.13,
    massKg: [7400, 9600],
    trailerKg: 0,
    dragAreaM2: 4.4,
    rollingCoefficient: 0.009,
    tyreRadiusM: 0.41,
    gears: [3.1, 1.81, 1.41, 1, 0.71, 0.61],
    finalDrive: 4.3,
    idleRpm: 700,
    ratedRpm: 2600,
    peakTorqueNm: 895,
    displacementL: 6.7,
    indicatedEfficiency: 0.46,
    frictionKw: [3.4, 1.7],
    accessoryKw: 4,
    boostKpa: 160,
    heatToOil: 0.094,
    heatToExhaust: [0.52, 0.54],
    heatToSurface: 0.08,
    coolantJK: 190_000,
    oilJK: 52_000,
    transJK: 70_000,
    radiatorWK: 825,
    ramPerKmh: 1 / 115,
    fanAtRated: 0.85,
    fanKw: 9,
    thermostatC: [86, 96],
    oilCoolerWK: 310,
    sumpWK: 35,
    transCoolerWK: 120,
    chargeCooler: 0.86,
    pumpKw: 0,
    duties: duties({ town: 5, valley: 4, highway: 3, climb: 1.5, site: 1 }),
  },
  {
    id: 'diesel_flatbed',
    label: 'diesel flatbed',
    fuel: 'diesel',
    turbo: true,
    light: false,
    share: 0.17,
    massKg: [7800, 12_500],
    trailerKg: 3000,
    dragAreaM2: 4.8,
    rollingCoefficient: 0.0085,
    tyreRadiusM: 0.43,
    gears: [3.51, 1.9, 1.44, 1, 0.74, 0.64],
    finalDrive: 4.3,
    idleRpm: 700,
    ratedRpm: 2600,
    peakTorqueNm: 1020,
    displacementL: 6.7,
    indicatedEfficiency: 0.46,
    frictionKw: [3.4, 1.7],
    accessoryKw: 3,
    boostKpa: 185,
    heatToOil: 0.094,
    heatToExhaust: [0.52, 0.54],
    heatToSurface: 0.08,
    coolantJK: 190_000,
    oilJK: 52_000,
    transJK: 72_000,
    radiatorWK: 875,
    ramPerKmh: 1 / 115,
    fanAtRated: 0.9,
    fanKw: 10,
    thermostatC: [86, 96],
    oilCoolerWK: 335,
    sumpWK: 35,
    transCoolerWK: 135,
    chargeCooler: 0.86,
    pumpKw: 0,
    duties: duties({ town: 3, valley: 5, highway: 2, climb: 2.5, site: 2 }),
  },
  {
    id: 'vacuum_truck',
    label: 'vacuum truck',
    fuel: 'diesel',
    turbo: true,
    light: false,
    share: 0.13,
    massKg: [14_000, 21_000],
    trailerKg: 0,
    dragAreaM2: 6,
    rollingCoefficient: 0.0075,
    tyreRadiusM: 0.5,
    gears: [3.49, 1.86, 1.41, 1, 0.75, 0.65],
    finalDrive: 5.38,
    idleRpm: 650,
    ratedRpm: 2200,
    peakTorqueNm: 1560,
    displacementL: 8.9,
    indicatedEfficiency: 0.46,
    frictionKw: [4.5, 2.2],
    accessoryKw: 4,
    boostKpa: 195,
    heatToOil: 0.094,
    heatToExhaust: [0.52, 0.54],
    heatToSurface: 0.08,
    coolantJK: 260_000,
    oilJK: 76_000,
    transJK: 95_000,
    radiatorWK: 1250,
    ramPerKmh: 1 / 120,
    fanAtRated: 1,
    fanKw: 16,
    thermostatC: [85, 95],
    oilCoolerWK: 480,
    sumpWK: 45,
    transCoolerWK: 180,
    chargeCooler: 0.86,
    pumpKw: 72,
    duties: duties({ town: 3, valley: 3, highway: 1, climb: 1.2, site: 1, pumping: 5 }),
  },
] as const satisfies readonly VehicleClassRow[];

export type VehicleClassId = (typeof VEHICLE_CLASSES)[number]['id'];

export function vehicleClass(id: VehicleClassId): VehicleClassRow {
  return VEHICLE_CLASSES.find((row) => row.id === id) as VehicleClassRow;
}

function duties(weights: Partial<Record<DutyId, number>>): { duty: DutyId; weight: number }[] {
  return Object.entries(weights).map(([duty, weight]) => ({ duty: duty as DutyId, weight }));
}
