/** Two invented labs with ten shots each, sent through intake: strokes of constant acceleration, tracks with a little noise. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ShotInput } from '../../shared/shot.ts';
import { createGear } from '../../src/access/gear.ts';
import type { Principal } from '../../src/access/principal.ts';
import { intakeLimits } from '../../src/intake/limits.ts';
import { submitStream } from '../../src/intake/submit.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';

/** Uniform on -1..1 from a fixed seed. */
function noiseFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
    return state / 1_073_741_824 - 1;
  };
}

interface Camera {
  readonly rate: number;
  readonly unit: string;
  /** m of one unit. */
  readonly scale: number;
}

const cameras: Readonly<Record<string, Camera>> = {
  north: { rate: 4000, unit: 'px', scale: 1e-4 },
  south: { rate: 5000, unit: 'mm', scale: 1e-3 },
};

const closedFrame = 1000;
const points = 220;

const ballTrack = {
  unit: 'px',
  positions: [0, 50.5, 99.25],
  times: { unit: 'ms', values: [0, 20, 40] },
  captureRate: { value: 50, unit: 'Hz' },
  scale: { value: 1, unit: 'mm/px' },
};

/** Shot `index` of a lab: speed 2.5 to 2.65 m/s, speeding up when the index is odd, slowing down when even. */
export function inventedShot(lab: string, index: number): ShotInput {
  const camera = cameras[lab];
  if (camera === undefined) throw new Error(`no camera for ${lab}`);
  const noise = noiseFrom(1000 * index + camera.rate);
  const speed = 2.5 + 0.05 * (Math.floor(index / 2) % 4);
  const acceleration = index % 2 === 1 ? 30 : -30;
  const firstFrame = closedFrame - points;
  const positions = Array.from({ length: points }, (_, point) => {
    const time = (firstFrame + point - closedFrame + 0.5) / camera.rate;
    return (speed * time + (acceleration * time * time) / 2 + 2e-5 * noise()) / camera.scale;
  });
  const gaps = positions.map((_, point) => (point < points - 60 ? null : 0.25 * (points - point)));
  return {
    label: `${lab.toUpperCase()}-${index}`,
    rig: 'main',
    cue: 'house',
    table: 'club',
    player: `P${index % 3}`,
    sessionDate: '2026-03-01',
    objectBallDistance: { value: 0.8, unit: 'm' },
    cueTrack: { unit: camera.unit, positions, firstFrame, ...(index % 2 === 0 ? { gaps } : {}) },
    // Every third shot has a ball track from a camera of its own.
    ...(index % 3 === 0 ? { ballTrack } : {}),
    contact: { closedFrame, openFrame: closedFrame + 5 },
    tipHeight: { method: 'contactMark', height: { value: -8 + 0.1 * (index % 2), unit: 'mm' } },
    outcome: { distance: { value: -30 - 2 * speed + 0.5 * noise(), unit: 'cm' }, ended: 'atRest' },
    shared: true,
  };
}

const encoder = new TextEncoder();

/** Sends shots as one JSON submission; every one must be accepted. */
export async function send(
  db: Database,
  lab: TestLab,
  shots: readonly ShotInput[],
  options: { revise?: boolean } = {},
): Promise<void> {
  await sendText(db, lab, JSON.stringify({ shots }), options);
}

/** The same with JSON as it stands. */
export async function sendText(
  db: Database,
  lab: TestLab,
  text: string,
  options: { revise?: boolean } = {},
): Promise<void> {
  async function* body() {
    yield encoder.encode(text);
  }
  const limits = intakeLimits(mkdtempSync(join(tmpdir(), 'shot-commons-releases-')));
  const query = { dryRun: false, accept: 'all' as const, revise: options.revise ?? false };
  const { receipt } = await submitStream(db, lab.contributor, lab.slug, query, 'json', body(), limits);
  if (!receipt.stored) throw new Error(`not stored: ${JSON.stringify(receipt.rejected).slice(0, 2000)}`);
}

export interface TwoLabs {
  readonly curator: Principal;
  readonly north: TestLab;
  readonly south: TestLab;
}

/** Registers both labs with their gear and sends their shots. The same database content every time. */
export async function fillTwoLabs(db: Database): Promise<TwoLabs> {
  const curator = await makeCurator(db);
  const labs = { north: await makeLab(db, curator, 'north'), south: await makeLab(db, curator, 'south') };
  for (const lab of [labs.north, labs.south]) {
    const camera = cameras[lab.slug] as Camera;
    await createGear(db, lab.lead, lab.slug, 'rigs', 'main', {
      captureRate: { value: camera.rate, unit: 'Hz' },
      ...(camera.unit === 'px' ? { scale: { value: camera.scale * 1000, unit: 'mm/px' } } : {}),
      trimMeaning: 'correction',
      fit: { order: 2 },
    });
    await createGear(db, lab.lead, lab.slug, 'cues', 'house', {
      mass: { value: 19, unit: 'oz' },
      tipDiameter: { value: 13, unit: 'mm' },
      tipRadius: 'nickel',
      shaftRadius: { value: 6.5, unit: 'mm' },
    });
    await createGear(db, lab.lead, lab.slug, 'tables', 'club', {
      discipline: 'pool',
      ballDiameter: { value: 57.15, unit: 'mm' },
    });
    await send(
      db,
      lab,
      Array.from({ length: 10 }, (_, index) => inventedShot(lab.slug, index + 1)),
    );
  }
  return { curator, ...labs };
}
