/** What a verification found, check by check. */

export interface Difference {
  readonly file: string;
  readonly lab: string | null;
  readonly label: string | null;
  /** Column of a table or JSON pointer into a JSON file. */
  readonly column: string | null;
  readonly expected: string;
  readonly found: string;
}

export const checkNames = ['container', 'manifest', 'files', 'tables', 'rule', 'derivations', 'analyses'] as const;
export type CheckName = (typeof checkNames)[number];

export interface VerificationCheck {
  readonly name: CheckName;
  readonly passed: boolean;
  /** How many things were compared: bytes, files, cells, shots or answers. */
  readonly compared: number;
  readonly unit: string;
  readonly differences: number;
  /** The first differences, at most 20. */
  readonly first: readonly Difference[];
}

/**
 * verified: everything is as it should be. differs: at least one check found a difference.
 * unreadable: not a bundle at all. unknown: of a format or method version that this code does not have.
 */
export type VerificationOutcome = 'verified' | 'differs' | 'unreadable' | 'unknown';

export interface VerificationReport {
  readonly outcome: VerificationOutcome;
  /** SHA-256 of manifest.json as found; null when there is none. */
  readonly digest: string | null;
  readonly dataset: string | null;
  readonly number: number | null;
  readonly methodVersion: string | null;
  readonly shots: number | null;
  /** Why it could not be read, or what is needed to read it; null when it was read. */
  readonly obstacle: string | null;
  readonly checks: readonly VerificationCheck[];
}

const keptDifferences = 20;

/** Counts what is compared and keeps the first differences. */
export class CheckRecorder {
  readonly #name: CheckName;
  readonly #unit: string;
  readonly #first: Difference[] = [];
  #compared = 0;
  #differences = 0;

  constructor(name: CheckName, unit: string) {
    this.#name = name;
    this.#unit = unit;
  }

  count(things = 1): void {
    this.#compared += things;
  }

  differ(difference: Difference): void {
    this.#differences += 1;
    if (this.#first.length < keptDifferences) this.#first.push(difference);
  }

  finish(): VerificationCheck {
    return {
      name: this.#name,
      passed: this.#differences === 0,
      compared: this.#compared,
      unit: this.#unit,
      differences: this.#differences,
      first: this.#first,
    };
  }
}

/** A difference of a whole file. */
export function fileDifference(file: string, expected: string, found: string): Difference {
  return { file, lab: null, label: null, column: null, expected, found };
}

/** Characters of one value in a line. */
const longest = 100;

/** One value on one line, shortened in the middle when long. */
function short(text: string): string {
  const line = text.replaceAll('\n', ' ');
  return line.length <= longest ? line : `${line.slice(0, longest - 33)} ... ${line.slice(-28)}`;
}

/** A difference on one line: where, what was expected, what was found. */
export function differenceText({ file, lab, label, column, expected, found }: Difference): string {
  const where = [file, lab === null ? null : `lab ${lab}`, label === null ? null : `shot ${label}`, column]
    .filter((part) => part !== null)
    .join(', ');
  return `${where}: expected ${short(expected)}, found ${short(found)}`;
}
