/** The gear of a shot in SI, with defaults by discipline where the lab gave nothing. */
import type { Discipline, RigContent } from '../../shared/gear.ts';
import type { Measure } from '../../shared/measure.ts';
import type { QuantityName } from '../../shared/quantities.ts';
import type { UnitContext } from '../../shared/units.ts';
import { convertOptional } from './convert-measure.ts';
import type { UsedGear } from './gear.ts';
import {
  assumedHeightUncertainty,
  assumedParallaxAngle,
  assumedWindow,
  gearDefaults,
  givenUncertainties,
  namedTipRadii,
  shaftFromTipUncertainty,
  type UncertainInput,
} from './gear-defaults.ts';

export interface SettledGear {
  /** Frames per second. */
  readonly captureRate: number;
  readonly playbackRate: number | null;
  /** s. */
  readonly exposure: number | null;
  /** Relative standard uncertainties common to all shots of the rig. */
  readonly scaleUncertainty: number;
  readonly clockUncertainty: number;
  readonly rig: RigContent;
  /** Standard uncertainty of one height reading, m. */
  readonly heightUncertainty: number;
  /** Standard uncertainty of ring readings by parallax, m. */
  readonly ringParallax: number;
  readonly fitOrder: number | null;
  /** s. */
  readonly fitWindow: number;
  /** Whether outlying frames are left out of the fit, or only listed. */
  readonly outlyingFrames: 'leaveOut' | 'report';
  /** m. */
  readonly ballRadius: UncertainInput;
  readonly tipRadius: UncertainInput;
  readonly tipBaseRadius: UncertainInput;
  readonly shaftRadius: UncertainInput;
  /** kg; null when no cue or no mass was given. */
  readonly cueMass: number | null;
  readonly discipline: Discipline;
  readonly context: UnitContext;
}

/** Gear in SI. The rig's capture rate is positive (checked when the rig is registered). */
export function settleGear(gear: UsedGear): SettledGear {
  const rig = gear.rig.content;
  const cue = gear.cue?.content;
  const table = gear.table?.content;
  const discipline = table?.discipline ?? 'other';
  const defaults = gearDefaults[discipline];
  const si = (measure: Measure | undefined, quantity: QuantityName, context: UnitContext = {}) =>
    convertOptional(measure, quantity, context);

  const ballDiameter = si(table?.ballDiameter, 'ballDiameter');
  const ballRadius = input(
    ballDiameter === null ? null : ballDiameter / 2,
    givenUncertainties.ballRadius,
    defaults.ballRadius,
  );
  const captureRate = si(rig.captureRate, 'captureRate') ?? Number.NaN;
  const context: UnitContext = {
    ballRadius: ballRadius.value,
    captureRate,
    metresPerPixel: si(rig.scale, 'scale') ?? undefined,
    tableLength: si(table?.length, 'tableLength') ?? undefined,
  };
  const tipDiameter = si(cue?.tipDiameter, 'tipDiameter', context);
  const tipBaseRadius = input(
    tipDiameter === null ? null : tipDiameter / 2,
    givenUncertainties.tipBaseRadius,
    defaults.tipBaseRadius,
  );
  const shaftDefault =
    tipDiameter === null
      ? defaults.shaftRadius
      : { value: tipBaseRadius.value, standardUncertainty: shaftFromTipUncertainty };
  const tipRadius =
    typeof cue?.tipRadius === 'string' ? namedTipRadii[cue.tipRadius] : si(cue?.tipRadius, 'tipRadius', context);
  return {
    captureRate,
    playbackRate: si(rig.playbackRate, 'playbackRate'),
    exposure: si(rig.exposure, 'exposure', context),
    scaleUncertainty: rig.scaleRelativeUncertainty,
    clockUncertainty: rig.clockRelativeUncertainty,
    rig,
    heightUncertainty: si(rig.heightUncertainty, 'heightReading', context) ?? assumedHeightUncertainty,
    ringParallax: si(rig.ringParallax, 'heightReading', context) ?? assumedParallaxAngle * ballRadius.value,
    fitOrder: rig.fit.order ?? null,
    fitWindow: si(rig.fit.window, 'trackTime', context) ?? assumedWindow,
    outlyingFrames: rig.fit.outlyingFrames ?? 'leaveOut',
    ballRadius,
    tipRadius: input(tipRadius, givenUncertainties.tipRadius, defaults.tipRadius),
    tipBaseRadius,
    shaftRadius: input(si(cue?.shaftRadius, 'shaftRadius', context), givenUncertainties.shaftRadius, shaftDefault),
    cueMass: si(cue?.mass, 'cueMass'),
    discipline,
    context,
  };
}

function input(
  given: number | null,
  givenUncertainty: number,
  fallback: { value: number; standardUncertainty: number },
): UncertainInput {
  if (given === null) return { ...fallback, assumed: true };
  return { value: given, standardUncertainty: givenUncertainty, assumed: false };
}
