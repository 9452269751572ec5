import { maximaOf, type PidReading } from './pid.js';
import type { PidMaxima } from './pid-types.js';

/**
 * Full scales that modules announced for their parameters (PID 4F, 50). A module speaks for itself only: the other ones on the
 * bus keep the usual scales.
 */
export class FullScales {
  private readonly byModule = new Map<string | null, PidMaxima>();

  /** @returns whether the readings changed a scale of the module */
  see(module: string | null, readings: readonly PidReading[]): boolean {
    const announced = Object.assign({}, ...readings.filter(isAnnouncement).map(maximaOf)) as PidMaxima;
    if (Object.keys(announced).length === 0) return false;
    this.byModule.set(module, { ...this.byModule.get(module), ...announced });
    return true;
  }

  of(module: string | null): PidMaxima | undefined {
    return this.byModule.get(module);
  }
}

const isAnnouncement = ({ pid }: PidReading): boolean => pid === '4F' || pid === '50';
