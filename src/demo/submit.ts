/** One upload and what became of it. */
import type { ShotInput } from '../../shared/shot.ts';
import { type Receipt, receiptSchema } from '../../shared/submission.ts';
import type { Api } from './api.ts';

export type Media = 'NDJSON' | 'JSON' | 'CSV';

export interface Upload {
  readonly media: Media;
  readonly accept: 'all' | 'valid';
  /** HTTP status. */
  readonly status: number;
  readonly receipt: Receipt;
}

const mediaTypes: Readonly<Record<Media, string>> = {
  NDJSON: 'application/x-ndjson',
  JSON: 'application/json',
  CSV: 'text/csv',
};

/**
 * Sends shots to a lab; a refusal of some shots is an answer too, and carries a receipt.
 *
 * @param shots shots, or the text of a CSV
 * @throws Error when the whole request is refused
 */
export async function submit(
  api: Api,
  slug: string,
  shots: readonly ShotInput[] | string,
  accept: Upload['accept'],
  media: Media,
): Promise<Upload> {
  const answer = await api.tryPost(
    `/v1/labs/${slug}/submissions?accept=${accept}`,
    bodyOf(shots, media),
    receiptSchema,
    mediaTypes[media],
  );
  if (answer.ok) return { media, accept, status: answer.status, receipt: answer.body };
  const { problem, status } = answer;
  if (problem.code !== 'submission-rejected') {
    throw new Error(`the upload to ${slug} was refused: ${problem.detail} ${JSON.stringify(problem.errors ?? [])}`);
  }
  return { media, accept, status, receipt: receiptSchema.parse(problem.receipt) };
}

function bodyOf(shots: readonly ShotInput[] | string, media: Media): unknown {
  if (typeof shots === 'string') return shots;
  if (media === 'JSON') return { shots };
  return `${shots.map((shot) => JSON.stringify(shot)).join('\n')}\n`;
}
