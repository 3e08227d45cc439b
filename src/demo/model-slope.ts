/** What the stroke model itself says about cue acceleration and contact time. */
import { integrateImpact } from './impact.ts';
import type { DemoLab } from './lab-model.ts';

/** Mean change of contact time with cue acceleration, s per m/s2, at 3 m/s and 0.3 R below the centre. */
export function modelSlope(labs: readonly DemoLab[]): number {
  const slopes = labs.map(({ play }) => {
    const at = (cueAcceleration: number) =>
      integrateImpact({ ...play, cueSpeed: 3, tipOffset: -0.3, cueAcceleration }).contactTime;
    return (at(10) - at(-10)) / 20;
  });
  return slopes.reduce((sum, slope) => sum + slope, 0) / slopes.length;
}
