/** One derivation of a 400-point track against a bare polynomial fit of the same points. */
import { PolynomialRegression } from 'ml-regression-polynomial';
import { shotInputSchema } from '../../../shared/shot.ts';
import { deriveShot } from '../../../src/derivation/derive-shot.ts';
import type { MeasureRow } from '../bench.ts';
import { trackShot, usedGear } from '../made/track-shots.ts';
import { medianTimes } from '../measure.ts';
import { milliseconds, type Row } from '../report.ts';

const points = 400;
const budgetMilliseconds = 0.25;
/** Different tracks, so that nothing is fitted to one. */
const shots = 64;

export const measureDerivation: MeasureRow = async (): Promise<Row> => {
  const parsed = Array.from({ length: shots }, (_, number) => {
    const shot = shotInputSchema.parse(trackShot(`shot ${number}`, number, points));
    const { faults } = deriveShot(shot, usedGear);
    if (faults.length > 0) throw new Error(`an invented shot is refused: ${JSON.stringify(faults)}`);
    return shot;
  });
  // The window before first contact, abscissa mapped to [-1, 1], prepared outside the clock.
  const bare = parsed.map(({ cueTrack, contact }) => {
    const y = cueTrack?.positions.slice(0, contact?.closedFrame) ?? [];
    return { x: y.map((_, i) => -1 + (2 * i) / (y.length - 1)), y };
  });
  // The results are used, so that no engine may leave the work out.
  let used = 0;
  const perRound = await medianTimes(
    {
      derive: () => {
        for (const shot of parsed) used += deriveShot(shot, usedGear).derived.cueSpeed?.value ?? 0;
      },
      fit: () => {
        for (const { x, y } of bare) used += new PolynomialRegression(x, y, 3).coefficients[1] ?? 0;
      },
    },
    { warmUp: 20, rounds: 200, seconds: 8, least: 20 },
  );
  if (!Number.isFinite(used)) throw new Error('a fit failed');
  const derive = perRound.derive / shots;
  const fit = perRound.fit / shots;
  return {
    work: `one derivation, ${points}-point track, one core`,
    floor: 'bare polynomial fit of degree 3, same points',
    figure: milliseconds(derive),
    floorFigure: milliseconds(fit),
    ratio: derive / fit,
    budget: `< ${budgetMilliseconds} ms`,
    within: derive < budgetMilliseconds,
  };
};
