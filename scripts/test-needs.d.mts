export interface Need {
  /** In words, with what it is for. */
  name: string;
  isThere: () => boolean;
  /** Debian packages that bring it, the preferred one first. */
  packages: string[];
}
export const NEEDS: Need[];
export function bringNeeds(needs?: Need[], say?: (line: string) => void): boolean;
export function packagesOf(needs: Need[], offered: (name: string) => boolean): string[];
