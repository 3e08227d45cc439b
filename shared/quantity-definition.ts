/** What the data dictionary says of each quantity. */

export const dimensions = [
  'length',
  'time',
  'speed',
  'acceleration',
  'mass',
  'angle',
  'rate',
  'one',
  'scale',
  'count',
] as const;
export type Dimension = (typeof dimensions)[number];

export interface Limits {
  readonly min: number;
  readonly max: number;
}

export interface QuantityDefinition {
  readonly name: string;
  readonly label: string;
  /** What it is, with its sign convention, in one or two sentences. */
  readonly description: string;
  readonly symbol: string;
  readonly dimension: Dimension;
  /** UCUM code of the SI unit used on the wire in results; '1' for a pure number. */
  readonly siUnit: string;
  /** Unit and factor for axis labels and reports: display value = SI value * factor. */
  readonly display: { readonly unit: string; readonly factor: number };
  readonly hard: Limits;
  readonly usual: Limits;
  /** True when the quantity may be used as a variable of a regression or comparison. */
  readonly variable: boolean;
}
