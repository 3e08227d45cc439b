/** Gear as stored, with the version it was used in. */
import type { CueContent, RigContent, TableContent } from '../../shared/gear.ts';

export interface UsedGear {
  readonly rig: { readonly name: string; readonly version: number; readonly content: RigContent };
  readonly cue: { readonly name: string; readonly version: number; readonly content: CueContent } | null;
  readonly table: { readonly name: string; readonly version: number; readonly content: TableContent } | null;
}
