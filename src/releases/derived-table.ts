/** derived.csv: what the service computed from each shot, SI throughout, one row a shot. */
import type { DerivedShot, Estimate } from '../../shared/derivation.ts';
import { type QuantityName, quantities } from '../../shared/quantities.ts';
import { endings } from '../../shared/shot.ts';
import { canonicalJson } from '../pooling/canonical.ts';
import { column, type Table, type TableColumn } from './csv-table.ts';
import type { DerivedFrozenShot } from './frozen-shot.ts';

type DerivedColumn = TableColumn<DerivedFrozenShot>;

function number(
  name: string,
  quantity: QuantityName,
  meaning: string,
  pick: (derived: DerivedShot) => number | null | undefined,
): DerivedColumn {
  const { description, siUnit, hard } = quantities[quantity];
  return column(name, 'number', `${meaning} ${description}`.trim(), ({ derived }) => pick(derived) ?? null, {
    unit: siUnit,
    limits: meaning === '' ? hard : null,
  });
}

/** An estimate as four columns: value, standard uncertainty, ends of the 95 % interval. */
function estimate(name: QuantityName, pick: (derived: DerivedShot) => Estimate | null): DerivedColumn[] {
  return [
    number(name, name, '', (derived) => pick(derived)?.value),
    number(`${name}Uncertainty`, name, 'Standard uncertainty of:', (derived) => pick(derived)?.standardUncertainty),
    number(`${name}Lower`, name, 'Lower end of the 95 % interval of:', (derived) => pick(derived)?.lower),
    number(`${name}Upper`, name, 'Upper end of the 95 % interval of:', (derived) => pick(derived)?.upper),
  ];
}

function fitColumn(
  name: string,
  type: DerivedColumn['type'],
  unit: string,
  meaning: string,
  pick: (fit: NonNullable<DerivedShot['fit']>) => string | number | boolean,
): DerivedColumn {
  return column(name, type, meaning, ({ derived }) => (derived.fit === null ? null : pick(derived.fit)), { unit });
}

/** Everything of a derivation that has no column of its own: candidates, budget, comparison with the lab's values. */
function rest(derived: DerivedShot): string {
  const { budget, compared, reasons, fit: trackFit } = derived;
  return canonicalJson({ budget, candidates: trackFit?.candidates ?? [], compared, reasons });
}

export const derivedTable: Table<DerivedFrozenShot> = {
  file: 'derived.csv',
  title: 'Values recomputed from the tracks and readings',
  primaryKey: ['lab', 'ordinal'],
  columns: [
    column('lab', 'string', 'Slug of the lab.', (row) => row.lab, { required: true }),
    column('ordinal', 'integer', 'Number of the shot within its lab, as in shots.csv.', (row) => row.ordinal, {
      required: true,
    }),
    column('label', 'string', "The lab's own label of the shot.", ({ content }) => content.label, { required: true }),
    column('methodVersion', 'string', 'Method version, see methods.md.', ({ derived }) => derived.methodVersion, {
      required: true,
    }),
    column(
      'source',
      'string',
      "track: recomputed from the cue track; reported: the lab's own values.",
      ({ derived }) => derived.source,
      { required: true, allowed: ['track', 'reported'] },
    ),
    ...estimate('cueSpeed', (derived) => derived.cueSpeed),
    ...estimate('cueAcceleration', (derived) => derived.cueAcceleration),
    column(
      'covarianceSpeedAcceleration',
      'number',
      'Covariance of the errors of cue speed and cue acceleration, which come from one fit.',
      ({ derived }) => derived.covarianceSpeedAcceleration,
      { unit: 'm2/s3' },
    ),
    ...estimate('contactTime', (derived) => derived.contactTime),
    number('contactTimeLeast', 'contactTime', 'Least possible:', (derived) => derived.contactTimeBounds?.least),
    number('contactTimeMost', 'contactTime', 'Greatest possible:', (derived) => derived.contactTimeBounds?.most),
    number('countedContactTime', 'countedContactTime', '', (derived) => derived.countedContactTime),
    ...estimate('tipOffset', (derived) => derived.tipOffset),
    ...estimate('tipHeight', (derived) => derived.tipHeight),
    number('objectBallDistance', 'objectBallDistance', '', (derived) => derived.objectBallDistance),
    ...estimate('outcomeDistance', (derived) => derived.outcomeDistance),
    number(
      'outcomeBound',
      'outcomeDistance',
      'A bound, because the ball did not come to rest by itself:',
      (derived) => {
        return derived.outcomeBound;
      },
    ),
    column('ended', 'string', 'How the outcome ended.', ({ derived }) => derived.ended, { allowed: endings }),
    number('ballSpeed', 'ballSpeed', '', (derived) => derived.ballSpeed),
    number('cueMass', 'cueMass', '', (derived) => derived.cueMass),
    number('elevation', 'elevation', '', (derived) => derived.elevation),
    fitColumn('fitWindow', 'number', 's', 'Length of the fitted window before first contact.', (each) => each.window),
    fitColumn('fitPoints', 'integer', '', 'Track points in the fit.', (each) => each.points),
    fitColumn('fitOrder', 'integer', '', 'Polynomial order with the largest weight.', (each) => each.order),
    fitColumn('fitFixedByRig', 'boolean', '', 'True when the rig fixes the order.', (each) => each.fixedByRig),
    fitColumn(
      'fitResidual',
      'number',
      'm',
      'Residual standard deviation of the fit.',
      (each) => each.residualStandardDeviation,
    ),
    fitColumn('fitLagOne', 'number', '1', 'Correlation of neighbouring residuals.', (each) => each.lagOneCorrelation),
    fitColumn('fitInflation', 'number', '1', 'Factor by which the fit uncertainty was widened for that.', (each) => {
      return each.uncertaintyInflation;
    }),
    fitColumn('fitOutlyingFrames', 'string', '', 'Frames left out as tracker jumps, separated by spaces.', (each) => {
      return each.outlyingFrames.join(' ');
    }),
    column('flags', 'string', 'Flags, separated by spaces; see the codebook.', ({ derived }) =>
      derived.flags.join(' '),
    ),
    column(
      'details',
      'string',
      'Candidate orders, uncertainty budget, comparison with reported values and reasons for missing values, as canonical JSON.',
      ({ derived }) => rest(derived),
      { required: true },
    ),
  ],
};
