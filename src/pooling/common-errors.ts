/**
 * Errors that all shots of a rig, a cue or a table share, as movements of the estimates (statistics/common-errors.ts).
 *
 * Each quantity of a unit errs by one error. Of a rig, scale and clock act on several: speed and acceleration carry the
 * scale and the clock of their track in the same sense; contact time carries the clock alone, in the other. Their sizes
 * tell the two apart. Everything else is taken as independent. Errors of a scale, a clock or a ball radius are relative.
 * Those of a tip offset, and of an outcome residual that rests on it, may be either (a parallax is constant, a tip radius
 * goes with the offset), and only their size is known: whichever moves the contrast more is taken.
 */
import type { VariableName } from '../../shared/quantities.ts';
import {
  type ErrorShape,
  type Perturbation,
  predictorPerturbation,
  responsePerturbation,
} from '../statistics/basis-derivative.ts';
import { type Movement, movementOf } from '../statistics/common-errors.ts';
import type { Contrast } from '../statistics/least-squares.ts';
import type { Moments } from '../statistics/moments.ts';
import { type CommonPartName, commonParts, type UncertainName } from './columns.ts';
import type { CommonSize, ErrorSums } from './error-sums.ts';
import type { RegressionDesign } from './regression-design.ts';

export type CommonKind = (typeof commonParts)[CommonPartName]['to'];

/** One way in which an error acts; several quantities may move together. */
type Action = readonly { readonly perturbation: Perturbation; readonly size: number }[];

/** One independent error of a unit: the action among the alternatives that moves a contrast most counts. */
interface CommonError {
  readonly alternatives: readonly Action[];
}

/** A rig, cue or table and the errors that its shots share. */
export interface CommonUnit {
  readonly kind: CommonKind;
  readonly lab: number;
  readonly moments: Moments;
  readonly errors: readonly CommonError[];
}

/** Variance of a contrast by what its shared errors are common to. */
export type CommonVariance = Readonly<Record<CommonKind, number>>;

/** The units whose shared errors bear on the question. */
export function commonUnits(design: RegressionDesign, response: VariableName, sums: ErrorSums): CommonUnit[] {
  const perturbations = perturbationsOf(design, response);
  const units: CommonUnit[] = [];
  for (const kind of ['rig', 'cue', 'table'] as const) {
    const sizes = sums.common.filter(({ part }) => commonParts[part].to === kind);
    const momentsOf = unitMoments(design, kind, sizes);
    for (const own of groupByUnit(sizes)) {
      const { lab, unit } = own[0] as CommonSize;
      units.push({ kind, lab, moments: momentsOf(lab, unit), errors: errorsOf(own, perturbations) });
    }
  }
  return units;
}

/**
 * Variances of contrasts.
 * @param move how the estimates follow an error of size 1 of a unit
 */
export function commonVariances(
  units: readonly CommonUnit[],
  move: (unit: CommonUnit, perturbation: Perturbation) => Movement,
  contrasts: readonly Contrast[],
): CommonVariance[] {
  const sums = contrasts.map(() => ({ rig: 0, cue: 0, table: 0 }));
  for (const unit of units) {
    for (const { alternatives } of unit.errors) {
      const actions = alternatives.map((action) =>
        action.map(({ perturbation, size }) => ({ movement: move(unit, perturbation), size })),
      );
      contrasts.forEach((contrast, place) => {
        let largest = 0;
        for (const action of actions) {
          let moved = 0;
          for (const { movement, size } of action) moved += size * movementOf(movement, contrast);
          largest = Math.max(largest, moved * moved);
        }
        const sum = sums[place] as (typeof sums)[number];
        sum[unit.kind] += largest;
      });
    }
  }
  return sums;
}

type Perturbations = (quantity: UncertainName, shape: ErrorShape) => Perturbation | null;

function perturbationsOf(
  { basis, predictors, responseOffset }: RegressionDesign,
  response: VariableName,
): Perturbations {
  const made = new Map<string, Perturbation | null>();
  return (quantity, shape) => {
    const key = `${quantity} ${shape}`;
    const known = made.get(key);
    if (known !== undefined) return known;
    const variable = predictors.indexOf(quantity);
    const found =
      quantity === response
        ? responsePerturbation(basis.terms.length, responseOffset, shape)
        : variable < 0
          ? null
          : predictorPerturbation(basis, variable, shape);
    made.set(key, found);
    return found;
  };
}

function groupByUnit(sizes: readonly CommonSize[]): CommonSize[][] {
  const byUnit = new Map<string, CommonSize[]>();
  for (const size of sizes) {
    const key = `${size.lab} ${size.unit}`;
    const own = byUnit.get(key);
    if (own === undefined) byUnit.set(key, [size]);
    else own.push(size);
  }
  return [...byUnit.values()];
}

/** Moments of each unit: those of its lab where that is all one unit, which saves a pass over the shots. */
function unitMoments(design: RegressionDesign, kind: CommonKind, sizes: readonly CommonSize[]) {
  const whole = (lab: number, rows: number) => (design.labs[lab] as Moments).count === rows;
  const parts = sizes.every(({ lab, rows }) => whole(lab, rows)) ? [] : design.partsBy(kind).parts;
  const byUnit = new Map(parts.map(({ lab, code, moments }) => [`${lab} ${code}`, moments]));
  return (lab: number, unit: number): Moments => byUnit.get(`${lab} ${unit}`) ?? (design.labs[lab] as Moments);
}

/** Quantities whose shared error may be constant or go with the value. */
const ofEitherShape: readonly UncertainName[] = ['tipOffset', 'outcomeResidual'];

function errorsOf(sizes: readonly CommonSize[], perturbations: Perturbations): CommonError[] {
  const relative = (quantity: UncertainName): number =>
    sizes.find(({ part }) => commonParts[part].of === quantity)?.relative ?? 0;
  const act = (parts: readonly (readonly [UncertainName, number])[]): Action =>
    parts.flatMap(([quantity, size]) => {
      const perturbation = size === 0 ? null : perturbations(quantity, 'relative');
      return perturbation === null ? [] : [{ perturbation, size }];
    });
  const rest = (whole: number, part: number) => Math.sqrt(Math.max(0, whole * whole - part * part));
  const [speed, acceleration, time] = [relative('cueSpeed'), relative('cueAcceleration'), relative('contactTime')];
  const [speedByClock, accelerationByClock] = [Math.min(time, speed), Math.min(2 * time, acceleration)];
  const errors: CommonError[] = [
    {
      alternatives: [
        act([
          ['contactTime', -time],
          ['cueSpeed', speedByClock],
          ['cueAcceleration', accelerationByClock],
        ]),
      ],
    },
    {
      alternatives: [
        act([
          ['cueSpeed', rest(speed, speedByClock)],
          ['cueAcceleration', rest(acceleration, accelerationByClock)],
        ]),
      ],
    },
    { alternatives: [act([['outcomeDistance', relative('outcomeDistance')]])] },
  ];
  for (const { part, constant, relative: share } of sizes) {
    const { of: quantity } = commonParts[part];
    if (!ofEitherShape.includes(quantity)) continue;
    const shapes = [
      ['constant', constant],
      ['relative', share],
    ] as const;
    errors.push({
      alternatives: shapes.flatMap(([shape, size]) => {
        const perturbation = perturbations(quantity, shape);
        return perturbation === null ? [] : [[{ perturbation, size }]];
      }),
    });
  }
  return errors.filter(({ alternatives }) => alternatives.some((action) => action.length > 0));
}
