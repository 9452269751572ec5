import type { MonitorId } from '@tallybay/contracts';
import type { RandomStream } from '../random.js';
import type { DriveFeatures } from './features.js';

interface MonitorRow {
  id: MonitorId;
  ignition: 'spark' | 'compression' | 'both';
  continuous?: true;
  /** Whether this drive let the monitor run to its end; orders of magnitude are common practice, no source. */
  ran: (drive: DriveFeatures, random: RandomStream) => boolean;
}

const cruise = (seconds: number) => (drive: DriveFeatures, random: RandomStream) =>
  drive.warmCruiseS >= seconds && random.chance(0.85);

/** Monitors of SAE J1979 PID 01 (bit positions in the public tables), and what kind of driving completes them. */
export const MONITORS: readonly MonitorRow[] = [
  { id: 'misfire', ignition: 'both', continuous: true, ran: (drive) => drive.runS >= 240 },
  { id: 'fuel_system', ignition: 'both', continuous: true, ran: (drive) => drive.runS >= 300 },
  { id: 'components', ignition: 'both', continuous: true, ran: (drive) => drive.runS >= 120 },
  { id: 'catalyst', ignition: 'spark', ran: cruise(300) },
  {
    id: 'evap',
    ignition: 'spark',
    ran: (drive, random) => drive.soakHours >= 6 && drive.runS >= 900 && drive.ambientC < 32 && random.chance(0.55),
  },
  { id: 'o2_sensor', ignition: 'spark', ran: cruise(120) },
  { id: 'o2_heater', ignition: 'spark', ran: (drive) => drive.coldStart && drive.runS >= 180 },
  { id: 'egr_vvt', ignition: 'both', ran: (drive, random) => drive.overruns >= 4 && random.chance(0.8) },
  { id: 'nmhc_catalyst', ignition: 'compression', ran: cruise(420) },
  { id: 'nox_scr', ignition: 'compression', ran: cruise(480) },
  { id: 'boost_pressure', ignition: 'compression', ran: (drive) => drive.highLoadS >= 40 },
  { id: 'exhaust_gas_sensor', ignition: 'compression', ran: cruise(240) },
  {
    id: 'pm_filter',
    ignition: 'compression',
    ran: (drive, random) => drive.warmCruiseS >= 600 && drive.highLoadS >= 60 && random.chance(0.6),
  },
];

export function monitorsOf(fuel: 'gas' | 'diesel'): readonly MonitorRow[] {
  const ignition = fuel === 'gas' ? 'spark' : 'compression';
  return MONITORS.filter((row) => row.ignition === 'both' || row.ignition === ignition);
}
