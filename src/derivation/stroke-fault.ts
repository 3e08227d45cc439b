/** Why a track that passed the checks of intake still gives no speed. */
import type { Fault } from '../../shared/problems.ts';
import type { Shot } from '../../shared/shot.ts';
import type { StrokeResult } from './derive-stroke.ts';
import { brief, derivedFault } from './derived-fault.ts';
import type { SettledGear } from './settle-gear.ts';

/** Null when there is a speed, or no track. */
export function strokeFault(result: StrokeResult | null, shot: Shot, gear: SettledGear): Fault | null {
  if (shot.cueTrack === undefined) return null;
  if (result === null) {
    return derivedFault(
      'first-contact-missing',
      '/contact/closedFrame',
      'nothing',
      'the first frame that looks closed',
    );
  }
  if (result.ok) return null;
  const points = shot.cueTrack.positions.length;
  const window = `${brief(gear.fitWindow * 1000)} ms before first contact`;
  switch (result.reason) {
    case 'tooFewPoints':
      return derivedFault(
        'track-too-short',
        '/cueTrack/positions',
        `${points} points, too few of them before first contact`,
        'at least 8 points before first contact',
      );
    case 'motionless':
      return derivedFault(
        'track-motionless',
        '/cueTrack/positions',
        `no motion towards the ball in the ${window}`,
        'positions that grow towards the ball by more than their scatter',
      );
    case 'notIncreasing':
      return derivedFault('frames-not-increasing', '/cueTrack', 'a repeated frame', 'increasing frame numbers');
    case 'scaleMissing':
      return derivedFault(
        'scale-missing',
        '/cueTrack/unit',
        shot.cueTrack.unit,
        'a length unit, or a rig with a scale',
      );
    case 'notFinite':
      return derivedFault(
        'limit-exceeded',
        '/cueTrack/positions',
        'positions too large to compute with',
        'positions within 10,000 km',
      );
  }
}
