/** The camera that filmed the ball: one of its own, or that of the rig. */
import type { BallTrack } from '../../../shared/shot.ts';
import type { UnitContext } from '../../../shared/units.ts';
import { convertOptional } from '../../derivation/convert-measure.ts';
import type { SettledGear } from '../../derivation/settle-gear.ts';

export interface BallCamera {
  /** Frames per second. */
  readonly captureRate: number;
  readonly playbackRate: number | null;
  readonly clockUncertainty: number;
  /** For the units of the ball track. */
  readonly context: UnitContext;
}

/**
 * A ball track without a capture rate was filmed by the camera of the rig, and then shares its scale too; another
 * camera needs a scale of its own for pixels.
 */
export function ballCamera(track: BallTrack, gear: SettledGear): BallCamera {
  const ownRate = convertOptional(track.captureRate, 'captureRate', {});
  const ownScale = convertOptional(track.scale, 'scale', {});
  const captureRate = ownRate ?? gear.captureRate;
  const metresPerPixel = ownScale ?? (track.captureRate === undefined ? gear.context.metresPerPixel : undefined);
  return {
    captureRate,
    playbackRate:
      convertOptional(track.playbackRate, 'playbackRate', {}) ?? (ownRate === null ? gear.playbackRate : null),
    clockUncertainty: gear.clockUncertainty,
    context: { ...gear.context, captureRate, metresPerPixel },
  };
}
