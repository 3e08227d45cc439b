/**
 * What is taken when a lab did not give a size of its gear, and how sure a size is when it was given. All in m.
 *
 * Ball sizes follow the equipment specifications: pool 57.15 mm within 0.127 mm, snooker 52.5 mm within 0.05 mm, carom
 * 61 to 61.5 mm, small pool cue ball 47.6 mm; their tolerances are taken as rectangular (half-width over sqrt 3). Tip
 * and shaft sizes and their spread are common practice without a source.
 */
import type { Discipline } from '../../shared/gear.ts';

/** A value with its standard uncertainty, and whether it was assumed because the lab did not give it. */
export interface UncertainInput {
  readonly value: number;
  readonly standardUncertainty: number;
  readonly assumed: boolean;
}

interface Size {
  readonly value: number;
  readonly standardUncertainty: number;
}

export interface GearDefaults {
  readonly ballRadius: Size;
  readonly tipRadius: Size;
  readonly tipBaseRadius: Size;
  readonly shaftRadius: Size;
}

export const gearDefaults: Readonly<Record<Discipline, GearDefaults>> = {
  pool: {
    ballRadius: { value: 0.028575, standardUncertainty: 3.7e-5 },
    tipRadius: { value: 0.01, standardUncertainty: 1.4e-3 },
    tipBaseRadius: { value: 0.0064, standardUncertainty: 2.5e-4 },
    shaftRadius: { value: 0.0064, standardUncertainty: 2.5e-4 },
  },
  snooker: {
    ballRadius: { value: 0.02625, standardUncertainty: 1.5e-5 },
    tipRadius: { value: 0.0085, standardUncertainty: 1.5e-3 },
    tipBaseRadius: { value: 0.00475, standardUncertainty: 3e-4 },
    shaftRadius: { value: 0.0049, standardUncertainty: 3.5e-4 },
  },
  carom: {
    ballRadius: { value: 0.030625, standardUncertainty: 7.2e-5 },
    tipRadius: { value: 0.0095, standardUncertainty: 1.5e-3 },
    tipBaseRadius: { value: 0.0058, standardUncertainty: 3e-4 },
    shaftRadius: { value: 0.0059, standardUncertainty: 3.5e-4 },
  },
  small: {
    ballRadius: { value: 0.0238, standardUncertainty: 2.5e-4 },
    tipRadius: { value: 0.008, standardUncertainty: 1.5e-3 },
    tipBaseRadius: { value: 0.0045, standardUncertainty: 4e-4 },
    shaftRadius: { value: 0.0047, standardUncertainty: 4.5e-4 },
  },
  // Not known which: from small pool to carom.
  other: {
    ballRadius: { value: 0.028575, standardUncertainty: 1.3e-3 },
    tipRadius: { value: 0.01, standardUncertainty: 2e-3 },
    tipBaseRadius: { value: 0.006, standardUncertainty: 8e-4 },
    shaftRadius: { value: 0.006, standardUncertainty: 8e-4 },
  },
};

/** Dome radii of the common shape names, m: those of the coins they are filed to. */
export const namedTipRadii = { dime: 0.00895, nickel: 0.0106 } as const;

/** Standard uncertainties of sizes that the lab did give, m and rad: what calipers, gauges and a level reach. */
export const givenUncertainties = {
  ballRadius: 3.7e-5,
  tipRadius: 5e-4,
  tipBaseRadius: 5e-5,
  shaftRadius: 5e-5,
  elevation: 0.005235987755982988,
  station: 3e-4,
} as const;

/** A cue whose elevation was not sent is taken as level; strokes called level differ by about 2 degrees. */
export const assumedElevationUncertainty = 0.03490658503988659;
/** Where the shaft is read when the lab did not say: distance from the ball centre, m. */
export const assumedStation = { value: 0.045, standardUncertainty: 5e-3 } as const;
/** The shaft near the tip is about as wide as the tip; m. */
export const shaftFromTipUncertainty = 1.5e-4;
/** Standard uncertainty of one height reading when neither rig nor shot gives one, m. */
export const assumedHeightUncertainty = 3e-4;
/** How far the camera may look up or down when rings on the ball are read, rad: one degree (common practice). */
export const assumedParallaxAngle = 0.017453292519943295;
/** Standard uncertainty of an outcome distance when the lab gives none, m. */
export const assumedOutcomeUncertainty = 5e-3;
/** Window of the track fit when the rig fixes none, s. */
export const assumedWindow = 0.04;
