/** What an invented lab is made of: what it registers, how it films and reads, and how its gear really behaves. */
import type { z } from 'zod';
import type {
  cueContentSchema,
  LabInput,
  rigContentSchema,
  tableContentSchema,
  trimMeanings,
} from '../../shared/gear.ts';

/** Gear as typed by a sender, before defaults are filled in. */
export type RigInput = z.input<typeof rigContentSchema>;
export type CueInput = z.input<typeof cueContentSchema>;
export type TableInput = z.input<typeof tableContentSchema>;

/** A unit of length as a lab types it. */
export interface LengthUnit {
  readonly unit: string;
  /** One unit in metres. */
  readonly metres: number;
}

/** How the cue is tracked in the film. */
export interface FilmSetting {
  /** Frames recorded per second, as stated by the lab. */
  readonly captureRate: number;
  /** s. */
  readonly exposure: number;
  readonly exposureCriterion: 'anyPartOfExposure' | 'wholeExposure' | 'unknown';
  readonly trimMeaning: (typeof trimMeanings)[number];
  /** The habit behind the trims, which the lab may not have written down. */
  readonly trimHabit: 'correction' | 'undecided';
  readonly trackUnit: LengthUnit;
  /** Smallest step of a position as written, in units of the track. */
  readonly trackStep: number;
  readonly positiveTowardsBall: boolean;
  /** Standard deviation of the tracker, m. */
  readonly trackNoise: number;
  /** Fewest and most points of a track. */
  readonly points: readonly [number, number];
  /** How frames are named: the number of the first, all numbers, or all numbers with times in ms. */
  readonly frames: 'firstFrame' | 'frames' | 'framesAndTimes';
  /** Share of frames that the tracker lost. */
  readonly lostFrames: number;
  readonly scaleRelativeUncertainty: number;
  readonly clockRelativeUncertainty: number;
}

/** How the tip height is read in the film. */
export interface HeightSetting {
  readonly method: 'shaftTopEdge' | 'shaftEdges' | 'contactMark' | 'ring';
  readonly reference: 'ballCentre' | 'cloth';
  readonly positiveUp: boolean;
  readonly unit: LengthUnit;
  /** Smallest step of a reading, in its unit (in rings for a ring). */
  readonly step: number;
  /** Standard deviation of one reading, m, without the rounding to `step`. */
  readonly noise: number;
  /** What the lab states as the standard uncertainty of one reading, m, rounding included. */
  readonly statedUncertainty: number;
  /** Height between rings, m; only for rings. */
  readonly ringStep: number;
}

/** How tip, balls and cloth really behave. SI. */
export interface PlaySetting {
  readonly cueMass: number;
  /** Tip stiffness at this lab, N/m^1.5. */
  readonly stiffness: number;
  readonly loss: number;
  readonly tipRadius: number;
  readonly tipRadiusSpread: number;
  readonly shaftRadius: number;
  readonly shaftRadiusSpread: number;
  readonly ballRadius: number;
  readonly ballMass: number;
  /** Mean elevation of the cue, rad. */
  readonly elevation: number;
  readonly slidingFriction: number;
  readonly rollingResistance: number;
  readonly ballRestitution: number;
  readonly ballFriction: number;
  readonly roomBehind: number;
  readonly roomAhead: number;
  /** All target speeds of the plan are multiplied by this. */
  readonly speedFactor: number;
}

export interface DemoLab {
  readonly registration: LabInput;
  readonly rig: { readonly name: string; readonly content: RigInput };
  readonly cue: { readonly name: string; readonly content: CueInput };
  readonly table: { readonly name: string; readonly content: TableInput };
  readonly film: FilmSetting;
  readonly height: HeightSetting;
  readonly play: PlaySetting;
  readonly distanceUnit: LengthUnit;
  readonly outcomeUnit: LengthUnit;
  /** Standard deviation of the outcome reading, m. */
  readonly outcomeNoise: number;
  readonly speedUnit: { readonly unit: string; readonly metresPerSecond: number };
  /** Text before the number in a shot's label. */
  readonly labelPrefix: string;
  readonly players: readonly string[];
  readonly observers: readonly string[];
  readonly sessions: readonly string[];
  /** The lab's own codes of the two ways of stroking. */
  readonly styles: { readonly accelerating: string; readonly slowing: string };
  /** True when the lab also sends its own summary values. */
  readonly sendsOwnValues: boolean;
  /** True when the lab measured the speed of the cue ball off the tip. */
  readonly sendsBallSpeed: boolean;
}
