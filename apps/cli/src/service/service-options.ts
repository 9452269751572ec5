import type { Command } from 'commander';
import { InvalidArgumentError, Option } from 'commander';
import { DEFAULT_URL } from './client.js';

/** Every command that talks to the service takes its address the same way. */
export const urlOption = (): Option =>
  new Option('--url <address>', 'address of the service').env('TALLYBAY_URL').default(DEFAULT_URL);

export const addUrl = (command: Command): Command => command.addOption(urlOption());

/** A whole number of at least `least`, as an option's value. */
export const wholeNumber =
  (least: number) =>
  (text: string): number => {
    const value = Number(text);
    if (!Number.isInteger(value) || value < least)
      throw new InvalidArgumentError(`"${text}" is not a whole number of at least ${least}.`);
    return value;
  };

/** A number above 0, as an option's value. */
export function positiveNumber(text: string): number {
  const value = Number(text);
  if (!Number.isFinite(value) || value <= 0) throw new InvalidArgumentError(`"${text}" is not a number above 0.`);
  return value;
}
