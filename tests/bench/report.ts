/** How a figure is printed: one line a row, and below it what belongs to it. */

export interface Row {
  readonly work: string;
  /** What the work is held against; null where the budget is absolute. */
  readonly floor: string | null;
  readonly figure: string;
  readonly floorFigure: string | null;
  /** Figure divided by floor figure, in the same unit. */
  readonly ratio: number | null;
  readonly budget: string;
  readonly within: boolean;
  /** One sentence why it is over budget, where that is known. */
  readonly why?: string | undefined;
  /** Parts of the figure, one a line. */
  readonly parts?: readonly string[];
}

export const heading = ['work', 'floor', 'figure', 'floor figure', 'ratio', 'budget', 'verdict'].join(' | ');

export function lineOf({ work, floor, figure, floorFigure, ratio, budget, within }: Row): string {
  const shown = [work, floor ?? '-', figure, floorFigure ?? '-', ratio === null ? '-' : `${digits(ratio)} x`, budget];
  return [...shown, within ? 'within budget' : 'OVER BUDGET'].join(' | ');
}

export function textOf(row: Row): string {
  const below = [...(row.parts ?? []), ...(row.within || row.why === undefined ? [] : [`over budget: ${row.why}`])];
  return [lineOf(row), ...below.map((line) => `    ${line}`)].join('\n');
}

/** Three significant digits, never in powers of ten. */
export function digits(value: number): string {
  if (value === 0 || Math.abs(value) >= 100) return value.toFixed(0);
  return value.toFixed(Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value)))));
}

export const milliseconds = (value: number): string =>
  value >= 1000 ? `${digits(value / 1000)} s` : `${digits(value)} ms`;
export const megabytes = (bytes: number): string => `${digits(bytes / 1e6)} MB`;
