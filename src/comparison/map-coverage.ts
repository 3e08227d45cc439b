/** Counts shots by lab, tip offset, cue speed and side of a contrast, and the pairs they make or miss. Pure. */

import { filterSchema } from '../../shared/analysis.ts';
import type { Contrast } from '../../shared/comparison.ts';
import type { Coverage, CoverageCell } from '../../shared/coverage.ts';
import type { VariableName } from '../../shared/quantities.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import { compareCodeUnits } from '../pooling/compare-code-units.ts';
import { selectShots } from '../pooling/select-shots.ts';
import { contrastSides } from './contrast-sides.ts';

export interface CoverageSteps {
  readonly tipOffset: number;
  /** m/s. */
  readonly cueSpeed: number;
  /** m. */
  readonly objectBallDistance: number;
}

export interface CoverageCounts {
  readonly labs: readonly Omit<Coverage['labs'][number], 'sentence'>[];
  readonly cells: readonly CoverageCell[];
  readonly leftOut: Coverage['leftOut'];
}

const needed: readonly VariableName[] = ['tipOffset', 'cueSpeed', 'objectBallDistance'];

/**
 * The map. Shots of one cell can be pairs when lab, set-up and step of the object-ball distance are the same; what one
 * side has more than the other there is what the other side wants. Shots with flags that leave them out of comparisons,
 * and reported ones, are left out here too.
 * @param lab only this one, or null
 */
export function mapCoverage(
  columns: ShotColumns,
  contrast: Contrast,
  steps: CoverageSteps,
  lab: string | null,
): CoverageCounts {
  const filter = filterSchema.parse(lab === null ? {} : { groups: [{ grouping: 'lab', values: [lab] }] });
  const wanted = contrast.kind === 'grouping' ? needed : [...new Set([...needed, contrast.variable])];
  const { indices, leftOut } = selectShots(columns, filter, wanted);
  const setUps = columns.groups.setUp.codes;
  const known = indices.filter((row) => (setUps[row] as number) >= 0);
  const sides = contrastSides(columns, known, contrast);
  const cells = countCells(columns, sides, steps);
  const labs = new Map<string, Omit<Coverage['labs'][number], 'sentence'>>();
  for (const { lab: slug, first, second, pairs, firstWanted, secondWanted } of cells) {
    const sum = labs.get(slug) ?? { lab: slug, first: 0, second: 0, pairs: 0, firstWanted: 0, secondWanted: 0 };
    labs.set(slug, {
      lab: slug,
      first: sum.first + first,
      second: sum.second + second,
      pairs: sum.pairs + pairs,
      firstWanted: sum.firstWanted + firstWanted,
      secondWanted: sum.secondWanted + secondWanted,
    });
  }
  return {
    labs: [...labs.values()],
    cells,
    leftOut: [
      ...leftOut,
      { reason: 'no set-up known: give the shot a table', shots: indices.length - known.length },
      { reason: 'on neither side of the contrast', shots: sides.neither },
    ].filter(({ shots }) => shots > 0),
  };
}

/** Number of the step that a value falls in; a value on an edge in decimals falls above it whatever its rounding. */
function stepOf(value: number, step: number): number {
  return Math.floor(value / step + 1e-9);
}

/** An edge without the rounding of a product of decimals. */
function edge(place: number, step: number): number {
  return Number((place * step).toPrecision(12));
}

function countCells(
  { variables, groups }: ShotColumns,
  sides: { readonly first: Int32Array; readonly second: Int32Array },
  steps: CoverageSteps,
): CoverageCell[] {
  interface Cell {
    readonly lab: string;
    readonly offset: number;
    readonly speed: number;
    /** [first, second] by set-up and step of the object-ball distance. */
    readonly alike: Map<string, [number, number]>;
  }
  const cells = new Map<string, Cell>();
  const { codes, names } = groups.lab;
  ([sides.first, sides.second] as const).forEach((rows, side) => {
    for (const row of rows) {
      const lab = names[codes[row] as number] as string;
      const offset = stepOf(variables.tipOffset[row] as number, steps.tipOffset);
      const speed = stepOf(variables.cueSpeed[row] as number, steps.cueSpeed);
      const distance = stepOf(variables.objectBallDistance[row] as number, steps.objectBallDistance);
      const key = `${lab} ${offset} ${speed}`;
      const cell = cells.get(key) ?? { lab, offset, speed, alike: new Map<string, [number, number]>() };
      cells.set(key, cell);
      const alikeKey = `${groups.setUp.codes[row]} ${distance}`;
      const counts = cell.alike.get(alikeKey) ?? [0, 0];
      counts[side === 0 ? 0 : 1] += 1;
      cell.alike.set(alikeKey, counts);
    }
  });
  return [...cells.values()]
    .sort((a, b) => compareCodeUnits(a.lab, b.lab) || a.offset - b.offset || a.speed - b.speed)
    .map(({ lab, offset, speed, alike }) => {
      const cell = { first: 0, second: 0, pairs: 0, firstWanted: 0, secondWanted: 0 };
      for (const [first, second] of alike.values()) {
        cell.first += first;
        cell.second += second;
        cell.pairs += Math.min(first, second);
        cell.firstWanted += Math.max(0, second - first);
        cell.secondWanted += Math.max(0, first - second);
      }
      return {
        lab,
        tipOffset: { from: edge(offset, steps.tipOffset), to: edge(offset + 1, steps.tipOffset) },
        cueSpeed: { from: edge(speed, steps.cueSpeed), to: edge(speed + 1, steps.cueSpeed) },
        ...cell,
      };
    });
}
