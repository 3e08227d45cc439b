/**
 * One derivation of a shot against a bare polynomial fit of the same points. The track of 400 points ends within the
 * window of its rig, so that beside the fit itself only the shorter window is tried; a longer one, with 400 points in the
 * window and 100 before it, is fitted in all three.
 */
import { PolynomialRegression } from 'ml-regression-polynomial';
import { type Shot, shotInputSchema } from '../../../shared/shot.ts';
import { deriveShot } from '../../../src/derivation/derive-shot.ts';
import type { MeasureRow } from '../bench.ts';
import { trackShot, usedGear } from '../made/track-shots.ts';
import { medianTimes } from '../measure.ts';
import { milliseconds, type Row } from '../report.ts';

/** Different tracks, so that nothing is fitted to one. */
const shots = 64;
const degree = 3;
const tracks = [
  { points: 400, windows: 2, work: 'one derivation, 400-point track, bare, one core', budgetMilliseconds: 0.25 },
  { points: 520, windows: 3, work: 'one derivation with all sensitivity windows, 500 points', budgetMilliseconds: 1 },
] as const;

export const measureDerivation: MeasureRow = async (): Promise<Row[]> => {
  const rows: Row[] = [];
  for (const track of tracks) rows.push(await measureTrack(track));
  return rows;
};

async function measureTrack({ points, windows, work, budgetMilliseconds }: (typeof tracks)[number]): Promise<Row> {
  const parsed = Array.from({ length: shots }, (_, number) => parsedShot(number, points, windows));
  const bare = parsed.map(barePoints);
  // The results are used, so that no engine may leave the work out.
  let used = 0;
  const perRound = await medianTimes(
    {
      derive: () => {
        for (const shot of parsed) used += deriveShot(shot, usedGear).derived.cueSpeed?.value ?? 0;
      },
      fit: () => {
        for (const { x, y } of bare) used += new PolynomialRegression(x, y, degree).coefficients[1] ?? 0;
      },
    },
    { warmUp: 20, rounds: 200, seconds: 8, least: 20 },
  );
  if (!Number.isFinite(used)) throw new Error('a fit failed');
  const derive = perRound.derive / shots;
  const fit = perRound.fit / shots;
  return {
    work,
    floor: `bare fit of degree ${degree} by ml-regression-polynomial, same points`,
    figure: milliseconds(derive),
    floorFigure: milliseconds(fit),
    ratio: derive / fit,
    budget: `< ${budgetMilliseconds} ms`,
    within: derive < budgetMilliseconds,
  };
}

function parsedShot(number: number, points: number, windows: number): Shot {
  const shot = shotInputSchema.parse(trackShot(`shot ${number}`, number, points));
  const { derived, faults } = deriveShot(shot, usedGear);
  if (faults.length > 0) throw new Error(`an invented shot is refused: ${JSON.stringify(faults)}`);
  const fitted = new Set(derived.fit?.sensitivity.map(({ window }) => window)).size;
  if (fitted !== windows) throw new Error(`${fitted} windows were fitted, not ${windows}`);
  return shot;
}

/** The points before first contact, abscissa mapped to [-1, 1]; prepared outside the clock. */
function barePoints({ cueTrack, contact }: Shot) {
  const y = cueTrack?.positions.slice(0, contact?.closedFrame) ?? [];
  return { x: y.map((_, i) => -1 + (2 * i) / (y.length - 1)), y };
}
