/** Mistakes that people make, put into a few shots on purpose; the mended shots are sent afterwards. */
import type { ShotInput } from '../../shared/shot.ts';
import { written } from './height-reading.ts';

export interface Mistake {
  /** Label of the shot that goes wrong. */
  readonly label: string;
  /** What the sender did, in a few words. */
  readonly what: string;
  readonly spoil: (shot: ShotInput) => ShotInput;
}

/** closedFrame and openFrame in each other's place. */
export function swappedContactFrames(shot: ShotInput): ShotInput {
  const { closedFrame, openFrame, ...rest } = shot.contact ?? {};
  return {
    ...shot,
    contact: {
      ...rest,
      ...(openFrame === undefined ? {} : { closedFrame: openFrame }),
      ...(closedFrame === undefined ? {} : { openFrame: closedFrame }),
    },
  };
}

/** Times read off the player's clock: frame number over playback rate. */
export function playbackTimes(shot: ShotInput, playbackRate: number): ShotInput {
  const track = shot.cueTrack;
  if (track?.frames === undefined) throw new Error(`shot ${shot.label} has no frame numbers`);
  const values = track.frames.map((frame) => frame / playbackRate);
  return { ...shot, cueTrack: { ...track, times: { unit: 's', values } } };
}

/** The unit of the upper shaft edge replaced. */
export function edgeInUnit(shot: ShotInput, unit: string, factor = 1): ShotInput {
  const reading = shot.tipHeight;
  if (reading?.method !== 'shaftEdges') throw new Error(`shot ${shot.label} has no shaft edges`);
  const change = (edge: { value: number; unit: string }) => ({ value: written(edge.value * factor, 0.01), unit });
  return {
    ...shot,
    tipHeight: { ...reading, topEdge: change(reading.topEdge), bottomEdge: change(reading.bottomEdge) },
  };
}

/** A ring without above or below. */
export function unsignedRing(shot: ShotInput): ShotInput {
  const reading = shot.tipHeight;
  if (reading?.method !== 'ring') throw new Error(`shot ${shot.label} has no ring reading`);
  const { side: _, ...unsigned } = reading;
  return { ...shot, tipHeight: unsigned };
}

/** Positions counted the other way round. */
export function mirroredTrack(shot: ShotInput): ShotInput {
  const track = shot.cueTrack;
  if (track === undefined) throw new Error(`shot ${shot.label} has no track`);
  return { ...shot, cueTrack: { ...track, positions: track.positions.map((position) => -position) } };
}

/** The mistakes of each lab, by slug. */
export const mistakes: Readonly<Record<string, readonly Mistake[]>> = {
  'north-bench': [
    { label: 'NB-007', what: 'closing and opening frame swapped', spoil: swappedContactFrames },
    {
      label: 'NB-012',
      what: 'times taken from the playing file (25 frames/s)',
      spoil: (shot) => playbackTimes(shot, 25),
    },
  ],
  harbour: [
    { label: 'H/003', what: 'tip height in kg', spoil: (shot) => edgeInUnit(shot, 'kg') },
    { label: 'H/021', what: 'tip height in mm, labelled in', spoil: (shot) => edgeInUnit(shot, 'in', 25.4) },
    { label: 'H/044', what: 'positions counted away from the ball', spoil: mirroredTrack },
  ],
  'old-mill': [],
  ridge: [
    { label: 'R2025-005', what: 'ring without above or below', spoil: unsignedRing },
    { label: 'R2025-018', what: 'label of another shot', spoil: (shot) => ({ ...shot, label: 'R2025-017' }) },
  ],
};

/** Puts the mistakes of a lab into its shots. */
export function spoiled(shots: readonly ShotInput[], own: readonly Mistake[]): ShotInput[] {
  return shots.map((shot) => own.find(({ label }) => label === shot.label)?.spoil(shot) ?? shot);
}
