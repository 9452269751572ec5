/**
 * Units that recorders write, as rows. `base = (value + shift) * num / den`, where the base unit of a quantity is its row
 * with num = den = 1 and shift = 0. Exact definitions: NIST SP 811 (2008), appendix B.8 and B.9 (1 in = 25.4 mm,
 * 1 lb = 0.453 592 37 kg, 1 gal = 231 in3, g0 = 9.806 65 m/s2); conventional inHg, mmHg and inH2O as printed there.
 * A pressure may say whether it is absolute or gauge behind its unit: `pressureReference` takes that off first.
 * `spellings` are compared after `unitKey`, so case, spaces, dots, hyphens and mojibake need no row of their own.
 */
export type Quantity =
  | 'temperature'
  | 'temperature_interval'
  | 'pressure'
  | 'speed'
  | 'rotation'
  | 'ratio'
  | 'mass_flow'
  | 'volume_flow'
  | 'voltage'
  | 'current'
  | 'distance'
  | 'time'
  | 'torque'
  | 'force'
  | 'angle'
  | 'volume'
  | 'mass'
  | 'count'
  | 'power'
  | 'latitude'
  | 'longitude'
  | 'acceleration'
  | 'concentration'
  | 'fuel_economy';

export interface UnitRow {
  id: string;
  quantity: Quantity;
  num: number;
  den: number;
  shift: number;
  /** base = num / value: distance per volume against volume per distance. */
  reciprocal: boolean;
  spellings: readonly string[];
}

/** Pounds-force per square inch in kPa: 4.448 221 615 260 5 N / (25.4 mm)^2. */
const LBF_N = 4.4482216152605;

export const UNITS: readonly UnitRow[] = [
  u(
    'degC',
    'temperature',
    1,
    1,
    'C|°C|C°|deg C|degs C|degrees C|degree C|Celsius|degrees Celsius|Grad C|Grad Celsius|grados C|grados Celsius|Cel',
  ),
  u(
    'degF',
    'temperature',
    5,
    9,
    'F|°F|F°|deg F|degs F|degrees F|degree F|Fahrenheit|degrees Fahrenheit|Grad F|grados F|grados Fahrenheit',
    -32,
  ),
  u('K', 'temperature', 1, 1, 'K|Kelvin', -273.15),
  u('K-interval', 'temperature_interval', 1, 1, 'K-interval|degC-interval|delta K'),
  u('degF-interval', 'temperature_interval', 5, 9, 'degF-interval|delta F'),

  u('kPa', 'pressure', 1, 1, 'kPa|kilopascal|kilopascals'),
  u('Pa', 'pressure', 1, 1000, 'Pa|pascal'),
  u('hPa', 'pressure', 1, 10, 'hPa|mbar|millibar'),
  u('MPa', 'pressure', 1000, 1, 'MPa|megapascal'),
  u('bar', 'pressure', 100, 1, 'bar|bars'),
  u('atm', 'pressure', 101.325, 1, 'atm'),
  u('psi', 'pressure', LBF_N, 25.4 * 25.4 * 1e-3, 'psi|lbf/in2|lb/in2|lbs/in2|#/in2'),
  u('inHg', 'pressure', 3.386388640341, 1, 'inHg|"Hg|in Hg|inches Hg|inch Hg|in(Hg)'),
  u('mmHg', 'pressure', 0.133322387415, 1, 'mmHg|torr'),
  u('inH2O', 'pressure', 0.24908891, 1, 'inH2O|in H2O|"H2O|inches H2O|inWC'),
  u('kg/cm2', 'pressure', 98.0665, 1, 'kg/cm2|kgf/cm2|kp/cm2'),

  u('km/h', 'speed', 1, 1, 'km/h|kph|kmh|kmph|km/hr|km/Std|km/Stunde|kilometers per hour|kilometres per hour'),
  u('mph', 'speed', 1.609344, 1, 'mph|mi/h|mi/hr|miles/h|miles/hr|miles per hour'),
  u('m/s', 'speed', 3.6, 1, 'm/s|mps|m/sec|meters/second|metres/second|meters per second'),
  u('kn', 'speed', 1.852, 1, 'kn|kt|kts|knot|knots'),

  u(
    'rpm',
    'rotation',
    1,
    1,
    'rpm|1/min|U/min|Umin|/min|min^-1|min-1|min⁻¹|Umdr/min|r/min|rev/min|revs/min|Upm|tr/min|rev per min',
  ),
  u('Hz', 'rotation', 60, 1, '1/s|rps|rev/s'),

  u('%', 'ratio', 1, 1, '%|pct|percent|per cent|Prozent|por ciento|porcentaje|perc'),
  u('1', 'ratio', 100, 1, '1|ratio|lambda|λ|fraction'),
  u('permille', 'ratio', 1, 10, '‰'),

  u('g/s', 'mass_flow', 1, 1, 'g/s|g/sec|gps|gm/s|gms/s|gm/sec|g/seg|gram/s|grams/s|grams/sec'),
  u('kg/s', 'mass_flow', 1000, 1, 'kg/s|kg/sec'),
  u('kg/h', 'mass_flow', 1000, 3600, 'kg/h|kg/hr|kgh|kg/Std'),
  u('g/min', 'mass_flow', 1, 60, 'g/min'),
  u('kg/min', 'mass_flow', 1000, 60, 'kg/min'),
  u('lb/min', 'mass_flow', 453.59237, 60, 'lb/min|lbs/min|lbm/min|lb/m|lbs/m'),
  u('lb/h', 'mass_flow', 453.59237, 3600, 'lb/h|lb/hr|lbs/h|lbs/hr|pph'),

  u('L/h', 'volume_flow', 1, 1, 'L/h|L/hr|lph|litre/h|liter/h|litres/h|liters/h|l/std|l/Stunde'),
  u('mL/s', 'volume_flow', 3.6, 1, 'mL/s|cc/s|cm3/s'),
  u('mL/min', 'volume_flow', 60, 1000, 'mL/min|cc/min|cm3/min'),
  u('L/min', 'volume_flow', 60, 1, 'L/min|lpm'),
  u('L/s', 'volume_flow', 3600, 1, 'L/s'),
  u(
    'gal/h',
    'volume_flow',
    3.785411784,
    1,
    'gal/h|gal/hr|gph|gals/h|gallons/h|gallons/hr|US gal/h|gal(US)/h|gal_us/h|usgph',
  ),
  u('gal_uk/h', 'volume_flow', 4.54609, 1, 'imp gal/h|gal(UK)/h|UK gal/h|gal(imp)/h'),

  u('V', 'voltage', 1, 1, 'V|volt|volts|VDC|V DC|Vdc|voltios'),
  u('mV', 'voltage', 1, 1000, 'mV|millivolt|millivolts'),
  u('A', 'current', 1, 1, 'A|amp|amps|ampere|amperes|ADC'),
  u('mA', 'current', 1, 1000, 'mA|milliamp|milliamps'),

  u('km', 'distance', 1, 1, 'km|kms|kilometer|kilometers|kilometre|kilometres|kilómetros'),
  u('m', 'distance', 1, 1000, 'm|meter|meters|metre|metres|mtr'),
  u('mi', 'distance', 1.609344, 1, 'mi|mile|miles|mls|Meilen|millas'),
  u('ft', 'distance', 0.0003048, 1, 'ft|foot|feet'),

  u('s', 'time', 1, 1, 's|h:mm:ss|hh:mm:ss|sec|secs|second|seconds|sek|Sekunde|Sekunden|seg|segundo|segundos'),
  u('ms', 'time', 1, 1000, 'ms|msec|millis|millisecond|milliseconds|Millisekunden|milisegundos'),
  u('us', 'time', 1, 1e6, 'us|µs|μs|usec|microseconds'),
  u('min', 'time', 60, 1, 'min|mins|minute|minutes|Minuten|minutos'),
  u('h', 'time', 3600, 1, 'h|hr|hrs|hour|hours|std|Stunde|Stunden|hora|horas'),
  u('d', 'time', 86400, 1, 'd|day|days|Tag|Tage|dias'),

  u('N.m', 'torque', 1, 1, 'Nm|N.m|N-m|N·m|newton meter|newton metre'),
  u(
    'lbf.ft',
    'torque',
    LBF_N * 0.3048,
    1,
    'lbf.ft|lb-ft|lbs-ft|ft-lb|ft-lbs|ft-lbf|lbf-ft|lb.ft|ft.lb|pound feet|lbft',
  ),
  u('lbf.in', 'torque', LBF_N * 0.0254, 1, 'lbf.in|lb-in|in-lb|in-lbs|lbf-in|in-lbf'),

  u('N', 'force', 1, 1, 'N|newton|newtons'),
  u('lbf', 'force', LBF_N, 1, 'lbf|pound-force|pounds-force'),

  u('deg', 'angle', 1, 1, 'deg|°|degree|degrees|Grad|grados|deg BTDC|° BTDC|°KW|° KW|°CA|deg CA|°crk|° v. OT'),
  u('rad', 'angle', 180 / Math.PI, 1, 'rad|radian|radians'),

  u('L', 'volume', 1, 1, 'L|litre|liter|litres|liters|ltr|litro|litros'),
  u('mL', 'volume', 1, 1000, 'mL|cc|cm3'),
  u('m3', 'volume', 1000, 1, 'm3'),
  u('gal', 'volume', 3.785411784, 1, 'gal|gals|gallon|gallons|US gal|gal(US)|gal_us|Gallonen|galones'),
  u('gal_uk', 'volume', 4.54609, 1, 'imp gal|gal(UK)|UK gal|gal(imp)|gal_imp'),

  u('g', 'mass', 1, 1, 'g|gram|grams|Gramm|gramos'),
  u('kg', 'mass', 1000, 1, 'kg|kilogram|kilograms'),
  u('lb', 'mass', 453.59237, 1, 'lb|lbs|pound|pounds|lbm'),

  u('count', 'count', 1, 1, 'count|counts|cnt|#|Anzahl'),

  u('kW', 'power', 1, 1, 'kW|kilowatt|kilowatts'),
  u('W', 'power', 1, 1000, 'W|watt|watts'),
  u('hp', 'power', LBF_N * 0.3048 * 0.55, 1, 'hp|bhp|whp|horsepower|hp_mech|mechanical hp'),
  u('hp_metric', 'power', 0.73549875, 1, 'PS|CV|hp metric|metric hp|hp(metric)|pferd'),

  u('m/s2', 'acceleration', 1, 1, 'm/s2|m/s/s|m/s^2|m/sec2'),
  u('g0', 'acceleration', 9.80665, 1, 'g|g0|G-force'),

  u('ppm', 'concentration', 1, 1, 'ppm|parts per million'),

  u('L/100km', 'fuel_economy', 1, 1, 'L/100km|l/100 km|litres/100km|liters/100km'),
  recip('km/L', 100, 'km/L|kmpl|kpl|km/l'),
  recip('mpg_us', 378.5411784 / 1.609344, 'mpg|mpg(US)|mpg US|mi/gal|miles per gallon'),
  recip('mpg_uk', 454.609 / 1.609344, 'mpg(UK)|mpg UK|mpg(imp)|mpg imp'),
];

function u(id: string, quantity: Quantity, num: number, den: number, spellings: string, shift = 0): UnitRow {
  return { id, quantity, num, den, shift, reciprocal: false, spellings: spellings.split('|') };
}

function recip(id: string, num: number, spellings: string): UnitRow {
  return { ...u(id, 'fuel_economy', num, 1, spellings), reciprocal: true };
}
