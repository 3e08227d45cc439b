/** Tip offset and height of the contact point from a reading, with its uncertainty budget. */
import type { Estimate } from '../../shared/derivation.ts';
import type { Fault } from '../../shared/problems.ts';
import type { Shot } from '../../shared/shot.ts';
import { type TipContact, type TipInput, tipContact } from '../physics/tip-geometry.ts';
import { domeLimit, levelCueClearance } from '../physics/tip-limits.ts';
import { type BudgetEntry, type BudgetInput, budgetEntry } from './budget.ts';
import { convertOptional } from './convert-measure.ts';
import { brief, derivedFault } from './derived-fault.ts';
import { normalEstimate, rootSumSquares } from './estimate.ts';
import { assumedElevationUncertainty, givenUncertainties } from './gear-defaults.ts';
import { type ReadTipHeight, readTipHeight } from './read-tip-height.ts';
import { pooledReadingUncertainty, repeatMean } from './repeat-readings.ts';
import type { SettledGear } from './settle-gear.ts';

export interface DerivedTip {
  /** b/R. */
  readonly tipOffset: Estimate | null;
  /** m above the ball centre. */
  readonly tipHeight: Estimate | null;
  readonly budget: readonly BudgetEntry[];
  readonly fault: Fault | null;
  readonly assumed: { readonly tipSize: boolean; readonly ballSize: boolean; readonly elevation: boolean };
  /** A level cue at this offset would touch the cloth. */
  readonly touchesCloth: boolean;
}

const nothing: DerivedTip = {
  tipOffset: null,
  tipHeight: null,
  budget: [],
  fault: null,
  assumed: { tipSize: false, ballSize: false, elevation: false },
  touchesCloth: false,
};

/** One input with the sensitivity of each result to it. */
interface Contribution {
  readonly from: BudgetInput;
  readonly tipOffset: number;
  readonly tipHeight: number;
  readonly commonTo: BudgetEntry['commonTo'];
  /** Error of one reading, which another reading of the same film would not repeat. */
  readonly ofReading: boolean;
}

type Sensitivities = Extract<TipContact, { ok: true }>['sensitivities'];

/** A cue without given elevation is taken as level; the estimate then carries the spread of strokes called level. */
export function deriveTipOffset(shot: Shot, gear: SettledGear): DerivedTip {
  const sent = shot.tipHeight;
  if (sent === undefined) return nothing;
  const read = readTipHeight(sent, gear);
  if (read === null) {
    const fault =
      sent.method === 'ring' && sent.side === undefined && sent.ring !== 0
        ? derivedFault('sign-missing', '/tipHeight/side', `ring ${brief(sent.ring)}`, 'above or below')
        : sent.method === 'ring' && sent.ringStep === undefined
          ? ringFault(sent.ring, gear)
          : derivedFault('scale-missing', '/tipHeight', 'a reading in pixels', 'a rig with a scale, or a length unit');
    return { ...nothing, fault };
  }
  const elevation = convertOptional(shot.elevation, 'elevation', gear.context);
  const contact = contactOf(read, gear, elevation);
  if (!contact.ok) return { ...nothing, fault: outsideBall(read, gear) };

  const contributions = contributionsOf(contact.sensitivities, read, gear, elevation);
  const repeats = shot.repeats.flatMap((repeat) => {
    const again = repeat.tipHeight === undefined ? null : readTipHeight(repeat.tipHeight, gear);
    const found = again === null ? null : contactOf(again, gear, elevation);
    return found?.ok === true ? [found] : [];
  });
  const found = {
    tipOffset: meanOf('tipOffset', contact, repeats, contributions),
    tipHeight: meanOf('tipHeight', contact, repeats, contributions),
  };
  const tipOffset = normalEstimate(found.tipOffset.value, found.tipOffset.standardUncertainty);
  const uses = (input: TipInput) => contact.sensitivities.some((line) => line.input === input);
  const tipDiameter = 2 * gear.tipBaseRadius.value;
  const onDome = domeLimit(tipDiameter, gear.tipRadius.value) + 3 * tipOffset.standardUncertainty;
  if (!gear.tipBaseRadius.assumed && uses('tipRadius') && Math.abs(tipOffset.value) > onDome) {
    return { ...nothing, fault: outsideBall(read, gear) };
  }
  return {
    tipOffset,
    tipHeight: normalEstimate(found.tipHeight.value, found.tipHeight.standardUncertainty),
    budget: [...found.tipOffset.budget, ...found.tipHeight.budget],
    fault: null,
    assumed: {
      tipSize: (uses('tipRadius') && gear.tipRadius.assumed) || (uses('shaftRadius') && gear.shaftRadius.assumed),
      ballSize: gear.ballRadius.assumed,
      elevation: elevation === null,
    },
    touchesCloth:
      (elevation ?? 0) <= 0 &&
      tipOffset.value < levelCueClearance(gear.ballRadius.value, tipDiameter, gear.tipRadius.value),
  };
}

function contactOf(read: ReadTipHeight, gear: SettledGear, elevation: number | null): TipContact {
  return tipContact(read.reading, {
    ballRadius: gear.ballRadius.value,
    tipRadius: gear.tipRadius.value,
    shaftRadius: gear.shaftRadius.value,
    elevation: elevation ?? 0,
  });
}

/**
 * One result from all readings of the film. With repeats it is their mean; the uncertainty of one reading is then the
 * stated one pooled with their spread, and that of the mean the n-th part of its square. What the readings share (gear,
 * scale, elevation) does not average out.
 */
function meanOf(
  result: 'tipOffset' | 'tipHeight',
  own: Extract<TipContact, { ok: true }>,
  repeats: readonly Extract<TipContact, { ok: true }>[],
  contributions: readonly Contribution[],
): { readonly value: number; readonly standardUncertainty: number; readonly budget: BudgetEntry[] } {
  if (repeats.length === 0) {
    return {
      value: own[result],
      standardUncertainty: total(contributions, result),
      budget: contributions.map((line) => budgetEntry(result, line.from, line[result], 'B', line.commonTo)),
    };
  }
  const readings = repeatMean([own[result], ...repeats.map((each) => each[result])]);
  const stated = total(
    contributions.filter((line) => line.ofReading),
    result,
  );
  const shared = contributions.filter((line) => !line.ofReading);
  const ofMean = pooledReadingUncertainty(stated, readings) / Math.sqrt(readings.count);
  const from = {
    input: `mean of ${readings.count} readings`,
    value: readings.mean,
    unit: result === 'tipOffset' ? '1' : 'm',
    standardUncertainty: ofMean,
  };
  return {
    value: readings.mean,
    standardUncertainty: rootSumSquares(ofMean, total(shared, result)),
    budget: [
      budgetEntry(result, from, 1, 'A', 'shot'),
      ...shared.map((line) => budgetEntry(result, line.from, line[result], 'B', line.commonTo)),
    ],
  };
}

function contributionsOf(
  sensitivities: Sensitivities,
  read: ReadTipHeight,
  gear: SettledGear,
  elevation: number | null,
): Contribution[] {
  const by = (input: TipInput) => sensitivities.find((line) => line.input === input);
  const contributions: Contribution[] = [];
  const add = (
    from: BudgetInput,
    { tipOffset, tipHeight }: { readonly tipOffset: number; readonly tipHeight: number },
    commonTo: BudgetEntry['commonTo'],
    ofReading = false,
  ) => contributions.push({ from, tipOffset, tipHeight, commonTo, ofReading });

  // The scale and the ball radius act through every height at once; each reading has its own error.
  let scale = { tipOffset: 0, tipHeight: 0 };
  let ball = { tipOffset: by('ballRadius')?.tipOffset ?? 0, tipHeight: by('ballRadius')?.tipHeight ?? 0 };
  for (const { input, height, byScale, byBallRadius } of read.heights) {
    const line = by(input);
    if (line === undefined) continue;
    const name = { topEdge: 'top edge reading', bottomEdge: 'bottom edge reading', height: 'height reading' }[input];
    add({ input: name, value: height, unit: 'm', standardUncertainty: read.readingUncertainty }, line, 'shot', true);
    scale = {
      tipOffset: scale.tipOffset + line.tipOffset * byScale,
      tipHeight: scale.tipHeight + line.tipHeight * byScale,
    };
    ball = {
      tipOffset: ball.tipOffset + line.tipOffset * byBallRadius,
      tipHeight: ball.tipHeight + line.tipHeight * byBallRadius,
    };
  }
  const first = by(read.heights[0]?.input ?? 'height');
  for (const { input, standardUncertainty, commonTo } of read.further) {
    if (first !== undefined)
      add({ input, value: 0, unit: 'm', standardUncertainty }, first, commonTo, commonTo === 'shot');
  }
  add({ input: 'scale', value: 1, unit: '1', standardUncertainty: gear.scaleUncertainty }, scale, 'rig');
  add({ input: 'ball radius', unit: 'm', ...gear.ballRadius }, ball, 'table');
  const given = elevation !== null;
  const { reading } = read;
  const inputs = [
    ['tipRadius', { input: 'tip dome radius', unit: 'm', ...gear.tipRadius }, 'cue'],
    ['shaftRadius', { input: 'shaft radius', unit: 'm', ...gear.shaftRadius }, 'cue'],
    [
      'station',
      {
        input: 'place of reading',
        value: reading.method === 'contactMark' ? 0 : reading.station,
        unit: 'm',
        standardUncertainty: read.stationUncertainty,
      },
      read.stationGiven ? 'shot' : 'rig',
    ],
    [
      'elevation',
      {
        input: given ? 'elevation' : 'elevation (not given: taken as level)',
        value: elevation ?? 0,
        unit: 'rad',
        standardUncertainty: given ? givenUncertainties.elevation : assumedElevationUncertainty,
      },
      given ? 'shot' : 'rig',
    ],
  ] as const;
  for (const [input, from, commonTo] of inputs) {
    const line = by(input);
    if (line !== undefined) add(from, line, commonTo);
  }
  return contributions;
}

function total(contributions: readonly Contribution[], result: 'tipOffset' | 'tipHeight'): number {
  let sum = 0;
  for (const line of contributions) {
    const contribution = line[result] * line.from.standardUncertainty;
    sum += contribution * contribution;
  }
  return Math.sqrt(sum);
}

function outsideBall({ reading }: ReadTipHeight, gear: SettledGear): Fault {
  const height =
    reading.method === 'contactMark'
      ? reading.height
      : reading.method === 'shaftEdges'
        ? (reading.topEdge + reading.bottomEdge) / 2
        : reading.method === 'shaftTopEdge'
          ? reading.topEdge
          : reading.bottomEdge;
  const millimetres = (metres: number) => `${brief(metres * 1000)} mm`;
  const field = { contactMark: '', shaftTopEdge: '/topEdge', shaftBottomEdge: '', shaftEdges: '/topEdge' }[
    reading.method
  ];
  return derivedFault(
    'outside-ball',
    `/tipHeight${field}`,
    `${millimetres(height)} from the ball centre`,
    `a contact on the dome of the tip and on a ball of ${millimetres(gear.ballRadius.value)} radius`,
  );
}

function ringFault(ring: number, { rig }: SettledGear): Fault {
  const scale = rig.ringHeights;
  if (scale === undefined) {
    const expected = 'a ringStep, or a rig with the heights of its rings';
    return derivedFault('scale-missing', '/tipHeight/ringStep', 'nothing', expected);
  }
  const expected = `a ring from 0 to ${scale.values.length}, as the scale of the rig has`;
  return derivedFault('outside-ball', '/tipHeight/ring', `ring ${brief(ring)}`, expected);
}
