/** A clean shot and its gear, to be varied by tests: 3 m/s, 20 m/s2, 9 contact frames at 8000 frames/s. */
import {
  type CueContent,
  cueContentSchema,
  type RigContent,
  rigContentSchema,
  type TableContent,
  tableContentSchema,
} from '../../shared/gear.ts';
import { type Shot, type ShotInput, shotInputSchema } from '../../shared/shot.ts';
import type { UsedGear } from '../../src/derivation/gear.ts';

export const captureRate = 8000;
export const closedFrame = 1000;

/** Positions in mm of frames 600 to 1010; a little deterministic roughness stands for noise. */
export function strokePositions(speed = 3, acceleration = 20, roughness = 0.02): number[] {
  let state = 57;
  return Array.from({ length: 411 }, (_, i) => {
    state = (state * 16_807) % 2_147_483_647;
    const time = (600 + i - (closedFrame - 0.5)) / captureRate;
    const rough = roughness * (state / 1_073_741_824 - 1);
    return time > 0 ? 5000 * time : 1000 * time * (speed + (time * acceleration) / 2) + rough;
  });
}

export function exampleShot(changes: Partial<ShotInput> = {}): Shot {
  const input: ShotInput = {
    label: 'A1',
    rig: 'north',
    cue: 'ash',
    table: 'club',
    elevation: { value: 0, unit: 'deg' },
    cueTrack: { unit: 'mm', firstFrame: 600, positions: strokePositions() },
    contact: { closedFrame, openFrame: closedFrame + 9 },
    tipHeight: {
      method: 'shaftTopEdge',
      topEdge: { value: -10, unit: 'mm' },
      station: { value: 45, unit: 'mm' },
      standardUncertainty: { value: 0.15, unit: 'mm' },
    },
    objectBallDistance: { value: 80, unit: 'cm' },
    outcome: { distance: { value: -55, unit: 'cm' }, ended: 'atRest' },
    ...changes,
  };
  return shotInputSchema.parse(input);
}

export function exampleGear(
  rig: Record<string, unknown> = {},
  cue: Record<string, unknown> | null = {},
  table: Record<string, unknown> | null = {},
): UsedGear {
  const rigContent: RigContent = rigContentSchema.parse({
    captureRate: { value: captureRate, unit: 'fps' },
    scaleRelativeUncertainty: 0.003,
    clockRelativeUncertainty: 0.0001,
    trimMeaning: 'correction',
    ...rig,
  });
  const cueContent: CueContent = cueContentSchema.parse({
    mass: { value: 19, unit: 'oz' },
    shaftRadius: { value: 6.5, unit: 'mm' },
    tipDiameter: { value: 13, unit: 'mm' },
    tipRadius: { value: 10.6, unit: 'mm' },
    ...cue,
  });
  const tableContent: TableContent = tableContentSchema.parse({
    discipline: 'pool',
    ballDiameter: { value: 57.15, unit: 'mm' },
    length: { value: 2.54, unit: 'm' },
    ...table,
  });
  return {
    rig: { name: 'north', version: 1, content: rigContent },
    cue: cue === null ? null : { name: 'ash', version: 1, content: cueContent },
    table: table === null ? null : { name: 'club', version: 1, content: tableContent },
  };
}
