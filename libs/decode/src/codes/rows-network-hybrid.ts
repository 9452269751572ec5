// P0Axx hybrid and electric drive, U0xxx network, and the few chassis codes that matter to a fleet. SAE J2012, from memory.
import { type CodeRow, one, run, traits } from './code-row.js';

const HYBRID = traits('hybrid', 'high', 'components');
const HYBRID_HEAT = traits('hybrid', 'high');
const BUS = traits('network', 'high', 'components');
const LOST = traits('network', 'high', 'components');
const LOST_MINOR = traits('network', 'moderate');
const WHEEL = traits('chassis', 'high');

const lost = (code: string, module: string, minor = false): CodeRow =>
  one(code, `No messages from the ${module}`, minor ? LOST_MINOR : LOST);

export const NETWORK_HYBRID_ROWS: readonly CodeRow[] = [
  ...run(
    'P0A00',
    ['circuit fault', 'signal implausible', 'signal low', 'signal high', 'signal intermittent'].map(
      (fault) => `Motor electronics coolant temperature sensor: ${fault}`,
    ),
    HYBRID_HEAT,
  ),
  ...run(
    'P0A05',
    ['control circuit open', 'control circuit low', 'control circuit high'].map(
      (fault) => `Motor electronics coolant pump A: ${fault}`,
    ),
    HYBRID_HEAT,
  ),
  one('P0A08', 'Voltage converter: status circuit fault', HYBRID),
  one('P0A0D', 'High voltage interlock: circuit high', traits('hybrid', 'critical', 'components')),
  one('P0A0F', 'Engine did not start when the hybrid drive asked', HYBRID),
  one('P0A1A', 'Generator control module: fault', HYBRID),
  one('P0A1B', 'Drive motor A control module: fault', HYBRID),
  one('P0A1F', 'Battery energy control module: fault', HYBRID),
  one('P0A24', 'Generator torque sensor: signal intermittent', HYBRID),
  one('P0A2F', 'Drive motor A too hot', traits('hybrid', 'critical')),
  one('P0A3B', 'Generator too hot', traits('hybrid', 'critical')),
  one('P0A3C', 'Drive motor A inverter too hot', traits('hybrid', 'critical')),
  one('P0A78', 'Drive motor A inverter: does not perform', HYBRID),
  one('P0A7A', 'Generator inverter: does not perform', HYBRID),
  one('P0A7D', 'Hybrid battery: charge low', HYBRID),
  one('P0A7E', 'Hybrid battery too hot', traits('hybrid', 'critical')),
  one('P0A7F', 'Hybrid battery worn out', HYBRID),
  one('P0A80', 'Hybrid battery: replace', HYBRID),
  ...run('P0A81', ['Hybrid battery fan 1: circuit fault', 'Hybrid battery fan 1: does not perform'], HYBRID_HEAT),
  one('P0A93', 'Inverter cooling does not perform', HYBRID_HEAT),
  one('P0A94', 'Voltage converter: does not perform', HYBRID),
  one('P0A9C', 'Hybrid battery temperature sensor A: signal implausible', HYBRID_HEAT),
  one('P0AA1', 'Hybrid battery contactor, positive: stuck closed', traits('hybrid', 'critical')),
  one('P0AA6', 'High voltage system: insulation fault', traits('hybrid', 'critical')),
  one('U0001', 'High speed CAN bus: fault', BUS),
  one('U0002', 'High speed CAN bus: does not perform', BUS),
  one('U0010', 'Medium speed CAN bus: fault', LOST_MINOR),
  one('U0073', 'Control module bus A off', BUS),
  lost('U0100', 'engine control module A'),
  lost('U0101', 'transmission control module'),
  lost('U0102', 'transfer case control module'),
  lost('U0103', 'gear shift module'),
  lost('U0104', 'cruise control module', true),
  lost('U0105', 'injector control module'),
  lost('U0106', 'glow plug control module', true),
  lost('U0107', 'throttle actuator control module'),
  lost('U0109', 'fuel pump control module'),
  lost('U010E', 'exhaust fluid control module'),
  lost('U0110', 'drive motor control module A'),
  lost('U0111', 'battery energy control module A'),
  lost('U0114', 'four-wheel drive clutch module', true),
  lost('U0121', 'anti-lock brake module'),
  lost('U0126', 'steering angle sensor', true),
  lost('U0129', 'brake system control module'),
  lost('U0131', 'power steering control module'),
  lost('U0140', 'body control module', true),
  lost('U0151', 'restraints control module'),
  lost('U0155', 'instrument cluster', true),
  lost('U0164', 'climate control module', true),
  lost('U029D', 'NOx sensor A'),
  lost('U029E', 'NOx sensor B'),
  one('U0300', 'Control module software does not fit the others', traits('network', 'moderate')),
  one('U0401', 'Invalid data from the engine control module A', LOST_MINOR),
  one('U0402', 'Invalid data from the transmission control module', LOST_MINOR),
  one('U0415', 'Invalid data from the anti-lock brake module', LOST_MINOR),
  one('U0423', 'Invalid data from the instrument cluster', LOST_MINOR),
  ...run(
    'C0035',
    ['left front', '', '', '', '', 'right front', '', '', '', '', 'left rear', '', '', '', '', 'right rear'].map(
      (wheel) => (wheel === '' ? '' : `Wheel speed sensor, ${wheel}: circuit fault`),
    ),
    WHEEL,
  ),
  one('P2610', 'Engine-off timer: does not perform', traits('control module', 'low', 'evap')),
];
