/** gear.json: every rig, cue and table version that a shot of the release names. */
import { z } from 'zod';
import { cueContentSchema, rigContentSchema, tableContentSchema } from '../../shared/gear.ts';
import { slugSchema } from '../../shared/measure.ts';
import { canonicalJson } from '../pooling/canonical.ts';
import type { FrozenGear } from './frozen-shot.ts';

export const gearFileName = 'gear.json';

const named = { lab: slugSchema, name: slugSchema, version: z.int().min(1) };
export const frozenGearSchema = z.discriminatedUnion('kind', [
  z.strictObject({ ...named, kind: z.literal('rigs'), content: rigContentSchema }),
  z.strictObject({ ...named, kind: z.literal('cues'), content: cueContentSchema }),
  z.strictObject({ ...named, kind: z.literal('tables'), content: tableContentSchema }),
]);

function order(first: FrozenGear, second: FrozenGear): number {
  for (const key of ['lab', 'kind', 'name'] as const) {
    if (first[key] !== second[key]) return first[key] < second[key] ? -1 : 1;
  }
  return first.version - second.version;
}

/** Canonical JSON, in the order lab, kind, name, version. */
export function renderGear(gear: readonly FrozenGear[]): Uint8Array {
  return new TextEncoder().encode(canonicalJson({ gear: [...gear].sort(order) }));
}

/** @throws when the bytes are not the JSON of a gear file */
export function readGear(bytes: Uint8Array): FrozenGear[] {
  const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  return z.strictObject({ gear: z.array(frozenGearSchema) }).parse(JSON.parse(text)).gear;
}
