/**
 * Invented shots from a physical model of their own: stroke, impact, cloth, film and observers. It shares no code with
 * the analysis, and gives the same shots on every machine and Node version.
 */

import cosine from '@stdlib/math-base-special-cos';
import type { ShotInput } from '../../shared/shot.ts';
import { type FilmChances, type FilmErrors, filmStroke } from './film.ts';
import { readTipHeight, written } from './height-reading.ts';
import { integrateImpact } from './impact.ts';
import type { DemoLab, LengthUnit } from './lab-model.ts';
import { degree } from './labs/units.ts';
import { type Cell, cells, type PlannedShot, planOf } from './plan.ts';
import { type Random, randomStream } from './random.ts';
import { type Outcome, playOut } from './slide.ts';
import { strokeOf } from './stroke.ts';

export const demoSeed = 20250101;

/** What really happened, which no lab ever sees. SI. */
export interface Truth {
  readonly cueSpeed: number;
  readonly cueAcceleration: number;
  readonly contactTime: number;
  readonly tipOffset: number;
  readonly ballSpeed: number;
  readonly objectBallDistance: number;
  /** Null when the cue ball never reached the object ball. */
  readonly outcomeDistance: number | null;
}

export interface GeneratedShot {
  readonly lab: string;
  readonly shot: ShotInput;
  readonly truth: Truth;
}

/** Errors that all shots of a lab share: scale, clock, and gear that is not quite what the lab wrote down. */
export interface CommonErrors extends FilmErrors {
  /** m. */
  readonly tipRadius: number;
  /** m. */
  readonly shaftRadius: number;
  /** m. */
  readonly ballRadius: number;
  /** Where the shaft's edges are read, m from the ball centre. */
  readonly station: number;
}

/** Draws the shared errors of one lab; a study of coverage may draw them anew for every shot. */
export function drawCommonErrors(random: Random, lab: DemoLab): CommonErrors {
  return {
    scale: random.normal(0, lab.film.scaleRelativeUncertainty),
    clock: random.normal(0, lab.film.clockRelativeUncertainty),
    tipRadius: lab.play.tipRadius + random.normal(0, lab.play.tipRadiusSpread),
    shaftRadius: lab.play.shaftRadius + random.normal(0, lab.play.shaftRadiusSpread),
    ballRadius: lab.play.ballRadius + random.normal(0, 0.000037),
    station: random.normal(0.045, 0.004),
  };
}

export const demoChances: FilmChances = { jump: 0.04, misread: 0.01 };

/** Makes one shot of a lab: the player aims at the plan and misses it a little. */
export function generateShot(
  random: Random,
  lab: DemoLab,
  common: CommonErrors,
  chances: FilmChances,
  planned: PlannedShot,
  label: string,
): GeneratedShot {
  const { cell, style } = planned;
  const { play } = lab;
  const cueSpeed = Math.max(0.5, cell.cueSpeed * play.speedFactor + random.normal(0, 0.05));
  const tipOffset = cell.tipOffset + random.normal(0, 0.012);
  const objectBallDistance = cell.objectBallDistance + random.normal(0, 0.004);
  const elevation = play.elevation + random.normal(0, 0.004);
  const gain = style === 'accelerating' ? random.normal(3.4, 0.5) : random.normal(-2.2, 0.4);
  const stroke = strokeOf({
    speed: cueSpeed,
    acceleration: gain * cueSpeed,
    jerk: random.normal(0, 30),
    duration: random.between(0.36, 0.46),
  });
  const impact = integrateImpact({
    cueSpeed,
    cueAcceleration: stroke.acceleration,
    cueMass: play.cueMass,
    ballMass: play.ballMass,
    tipOffset,
    stiffness: play.stiffness * random.normal(1, 0.015),
    loss: play.loss * random.normal(1, 0.015),
  });
  const outcome = playOut(
    { speed: impact.ballSpeed * cosine(elevation), spin: impact.ballSpin },
    { objectBallDistance, roomBehind: play.roomBehind, roomAhead: play.roomAhead },
    {
      slidingFriction: play.slidingFriction * random.normal(1, 0.01),
      rollingResistance: play.rollingResistance * random.normal(1, 0.015),
    },
    {
      restitution: play.ballRestitution + random.normal(0, 0.002),
      friction: play.ballFriction + random.normal(0, 0.002),
    },
  );
  const film = filmStroke(random, lab.film, common, chances, stroke, impact);
  const cue = {
    tipOffset,
    ballRadius: common.ballRadius,
    tipRadius: common.tipRadius,
    shaftRadius: common.shaftRadius,
    station: common.station,
    elevation,
  };
  const session = lab.sessions[random.index(lab.sessions.length)];
  const player = lab.players[random.index(lab.players.length)];
  const observer = lab.observers[random.index(lab.observers.length)];
  const shot: ShotInput = {
    label,
    rig: lab.rig.name,
    cue: lab.cue.name,
    table: lab.table.name,
    ...(player === undefined ? {} : { player }),
    ...(observer === undefined ? {} : { observer }),
    ...(session === undefined ? {} : { sessionDate: session }),
    strokeStyle: lab.styles[style],
    objectBallDistance: lengthAs(lab.distanceUnit, objectBallDistance + random.normal(0, 0.001)),
    elevation: { value: written((elevation + random.normal(0, 0.005)) / degree, 0.1), unit: 'deg' },
    cueTrack: film.cueTrack,
    contact: film.contact,
    tipHeight: readTipHeight(random, lab.height, cue, common.scale),
    ...(lab.sendsBallSpeed
      ? { ballSpeed: { value: written(impact.ballSpeed * random.normal(1, 0.008), 0.01), unit: 'm/s' } }
      : {}),
    ...(outcome === null ? {} : { outcome: readOutcome(random, lab, outcome) }),
    ...(lab.sendsOwnValues ? { reported: ownValues(lab, film, cueSpeed, random) } : {}),
  };
  const truth = {
    cueSpeed,
    cueAcceleration: stroke.acceleration,
    contactTime: impact.contactTime,
    tipOffset,
    ballSpeed: impact.ballSpeed,
    objectBallDistance,
    outcomeDistance: outcome?.distance ?? null,
  };
  return { lab: lab.registration.slug, shot, truth };
}

/** All shots of one lab under a seed, in the order filmed. */
export function generateLab(seed: number, lab: DemoLab, plan: readonly Cell[] = cells): GeneratedShot[] {
  const { slug } = lab.registration;
  const common = drawCommonErrors(randomStream(seed, `${slug}/common`), lab);
  return planOf(plan).map((planned, index) => {
    const label = `${lab.labelPrefix}${String(index + 1).padStart(3, '0')}`;
    const random = randomStream(seed, `${slug}/${label}`);
    return generateShot(random, lab, common, demoChances, planned, label);
  });
}

function lengthAs(unit: LengthUnit, length: number): { value: number; unit: string } {
  // Written to about half a millimetre, as from a tape.
  const step = { mm: 1, cm: 0.1, in: 0.05, m: 0.001 }[unit.unit] ?? 0.001;
  return { value: written(length / unit.metres, step), unit: unit.unit };
}

function readOutcome(random: Random, lab: DemoLab, outcome: Outcome): NonNullable<ShotInput['outcome']> {
  const read = outcome.distance + random.normal(0, lab.outcomeNoise);
  return {
    distance: lengthAs(lab.outcomeUnit, read),
    standardUncertainty: lengthAs(lab.outcomeUnit, lab.outcomeNoise),
    ended: outcome.ended,
  };
}

/** The lab's own quick values: speed from the last few frames by ruler, contact time as counted. */
function ownValues(
  lab: DemoLab,
  film: { contact: { closedFrame?: number | undefined; openFrame?: number | undefined } },
  cueSpeed: number,
  random: Random,
): NonNullable<ShotInput['reported']> {
  const counted = (film.contact.openFrame ?? 0) - (film.contact.closedFrame ?? 0);
  return {
    cueSpeed: {
      value: written((cueSpeed * random.normal(1, 0.01)) / lab.speedUnit.metresPerSecond, 0.01),
      unit: lab.speedUnit.unit,
    },
    contactTime: { value: written((1000 * counted) / lab.film.captureRate, 0.01), unit: 'ms' },
  };
}
