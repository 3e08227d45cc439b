/** How each lab's shots arrive: with mistakes first, then mended; older summaries at the end. */
import { z } from 'zod';
import type { ShotInput } from '../../shared/shot.ts';
import type { GeneratedShot } from './generator.ts';
import { olderSummaryCsv } from './older-summary.ts';
import type { RegisteredLab } from './register-lab.ts';
import { submit, type Upload } from './submit.ts';
import { type Mistake, mistakes, spoiled } from './wrong-rows.ts';

export interface LabUploads {
  readonly slug: string;
  readonly uploads: readonly Upload[];
  /** What was done wrong on purpose, by label as sent. */
  readonly mistakes: ReadonlyMap<string, string>;
}

const olderShots = 12;
/** Shots of the old mill that are first sent with the wrong rig version. */
const lateShots = 3;

/** Sends everything of one lab and shares it. */
export async function uploadLab(
  registered: RegisteredLab,
  generated: readonly GeneratedShot[],
  seed: number,
): Promise<LabUploads> {
  const { slug, lead, contributor, lab } = registered;
  const shots = generated.map(({ shot }) => shot);
  const own = mistakes[slug] ?? [];
  const uploads: Upload[] = [];
  const labels = new Map(own.map((mistake) => [sentLabel(shots, mistake), mistake.what]));
  const send = async (what: readonly ShotInput[] | string, accept: Upload['accept'], media: Upload['media']) => {
    uploads.push(await submit(contributor, slug, what, accept, media));
  };

  if (slug === 'old-mill') {
    const usual = shots.slice(0, -lateShots);
    const late = shots.slice(-lateShots);
    await send(usual, 'all', 'NDJSON');
    // Someone reads the rate off the file's properties: that is how fast it plays, not how fast it was recorded.
    const { playbackRate } = lab.rig.content;
    const content = { ...lab.rig.content, captureRate: playbackRate };
    await lead.post(`/v1/labs/${slug}/rigs/${lab.rig.name}/versions`, { content }, z.looseObject({}));
    for (const { label } of late) labels.set(label, 'rig version 2: playback rate given as capture rate');
    await send(late, 'all', 'JSON');
    await send(
      late.map((shot) => ({ ...shot, rig: `${lab.rig.name}@1` })),
      'all',
      'JSON',
    );
  } else {
    await send(spoiled(shots, own), slug === 'north-bench' ? 'all' : 'valid', 'NDJSON');
    await send(shots, 'all', 'NDJSON');
  }
  if (slug === 'ridge') await send(olderSummaryCsv(seed, lab, olderShots), 'all', 'CSV');
  await lead.post(`/v1/labs/${slug}/sharing`, { all: true }, z.looseObject({}));
  return { slug, uploads, mistakes: labels };
}

/** A mistake may change the label itself. */
function sentLabel(shots: readonly ShotInput[], mistake: Mistake): string {
  const shot = shots.find(({ label }) => label === mistake.label);
  if (shot === undefined) throw new Error(`there is no shot ${mistake.label} to spoil`);
  return mistake.spoil(shot).label;
}
