/** Boltzmann constant [eV/K] (CODATA 2018; the SI of 2019 makes it exact, here to 13 digits). */
export const BOLTZMANN_EV_PER_K = 8.617333262145e-5;

/**
 * How many times faster a fluid ages than at its reference temperature, by the doubling-per-step rule of thumb:
 * 2^((T - Tref) / step). Temperatures and step in one unit, any.
 */
export const ageingFactor = (temperature: number, reference: number, doublingStep: number): number =>
  2 ** ((temperature - reference) / doublingStep);

/**
 * Hours at the reference temperature that age the fluid as much as the profile did.
 * Time below the reference is not counted: the rule is stated for above it only.
 */
export function equivalentHours(
  profile: readonly { temperature: number; hours: number }[],
  reference: number,
  doublingStep: number,
): number {
  return profile.reduce(
    (sum, { temperature, hours }) =>
      temperature < reference ? sum : sum + hours * ageingFactor(temperature, reference, doublingStep),
    0,
  );
}

/** Arrhenius acceleration between two temperatures [°C]: exp(Ea/k (1/Tuse - 1/Tstress)), NIST/SEMATECH e-Handbook 8.1.5.1. */
export const arrheniusFactor = (activationEv: number, useC: number, stressC: number): number =>
  Math.exp((activationEv / BOLTZMANN_EV_PER_K) * (1 / (useC + 273.15) - 1 / (stressC + 273.15)));

/** Activation energy [eV] at which the rate doubles between two temperatures [°C]. */
export const activationEvForDoubling = (fromC: number, toC: number): number =>
  (BOLTZMANN_EV_PER_K * Math.LN2) / (1 / (fromC + 273.15) - 1 / (toC + 273.15));

/** Boiling point [°F] under a pressure cap, by the trade's 3 °F per psi: an upper bound, steam tables give less. */
export const boilingPointDegF = (baseDegF: number, capPsi: number): number => baseDegF + 3 * capPsi;
