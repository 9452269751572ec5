/** Quantities that recorders write in different units. The model's own units are the first of each row. */
export type UnitKind =
  | 'temperature'
  | 'pressure'
  | 'speed'
  | 'distance'
  | 'fuelRate'
  | 'massFlow'
  | 'volume'
  | 'torque'
  | 'power';

export interface UnitRow {
  label: string;
  /** written = canonical * scale + offset */
  scale: number;
  offset: number;
  /** Decimals beside those of the channel. */
  moreDecimals: number;
}

const SAME = { scale: 1, offset: 0, moreDecimals: 0 };
const FAHRENHEIT = { scale: 9 / 5, offset: 32, moreDecimals: 1 };
/** Factors of NIST SP 811 (2008) appendix B.8. */
const PSI = { label: 'psi', scale: 1 / 6.894757293168361, offset: 0, moreDecimals: 1 };
const MPH = { label: 'mph', scale: 1 / 1.609344, offset: 0, moreDecimals: 1 };
const MILE = { label: 'mi', scale: 1 / 1.609344, offset: 0, moreDecimals: 0 };
const GALLON_PER_HOUR = { label: 'gal/h', scale: 1 / 3.785411784, offset: 0, moreDecimals: 1 };
const POUND_PER_MINUTE = { label: 'lb/min', scale: 1 / 7.559872833, offset: 0, moreDecimals: 1 };
const GALLON = { label: 'gal', scale: 1 / 3.785411784, offset: 0, moreDecimals: 1 };
const FOOT_POUND = { label: 'lb-ft', scale: 1 / 1.3558179483314, offset: 0, moreDecimals: 0 };
const HORSEPOWER = { label: 'hp', scale: 1 / 0.745699871582, offset: 0, moreDecimals: 0 };

const SI: Record<UnitKind, UnitRow> = {
  temperature: { label: '°C', ...SAME },
  pressure: { label: 'kPa', ...SAME },
  speed: { label: 'km/h', ...SAME },
  distance: { label: 'km', ...SAME },
  fuelRate: { label: 'L/h', ...SAME },
  massFlow: { label: 'g/s', ...SAME },
  volume: { label: 'L', ...SAME },
  torque: { label: 'Nm', ...SAME },
  power: { label: 'kW', ...SAME },
};
const US: Record<UnitKind, UnitRow> = {
  temperature: { label: '°F', ...FAHRENHEIT },
  pressure: PSI,
  speed: MPH,
  distance: MILE,
  fuelRate: GALLON_PER_HOUR,
  massFlow: POUND_PER_MINUTE,
  volume: GALLON,
  torque: FOOT_POUND,
  power: HORSEPOWER,
};

/** Sets of units as recorders combine them. */
export const UNIT_SETS = {
  si: SI,
  us: US,
  'us-words': { ...US, temperature: { label: 'degF', ...FAHRENHEIT } },
  bar: { ...SI, pressure: { label: 'bar', scale: 0.01, offset: 0, moreDecimals: 2 } },
  mixed: { ...SI, temperature: { label: 'degC', ...SAME }, pressure: PSI, speed: MPH },
} as const satisfies Record<string, Record<UnitKind, UnitRow>>;

export type UnitSetId = keyof typeof UNIT_SETS;
