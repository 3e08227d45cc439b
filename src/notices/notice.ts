/** What servers and subscribers are told when a transaction commits. */
import { z } from 'zod';

/** The one channel of the database. */
export const noticeChannel = 'shot_commons';

export const noticeSchema = z.discriminatedUnion('kind', [
  /** A lab is new, or something of it changed; what is shared changed only when sharedVersion did. */
  z.strictObject({ kind: z.literal('labVersion'), lab: z.string(), version: z.int(), sharedVersion: z.int() }),
  /** Shots of a submission are stored. `shared`: some of what it changed is shared. */
  z.strictObject({
    kind: z.literal('submissionAccepted'),
    lab: z.string(),
    submission: z.string(),
    shared: z.boolean(),
  }),
  z.strictObject({ kind: z.literal('releaseFrozen'), dataset: z.string(), number: z.int(), digest: z.string() }),
  /** Something that is kept by every server and has no version: read it again. */
  z.strictObject({ kind: z.literal('readAgain'), what: z.enum(['tokens', 'versions']) }),
]);
export type Notice = z.infer<typeof noticeSchema>;
export type NoticeOf<Kind extends Notice['kind']> = Extract<Notice, { kind: Kind }>;

/** Null for what this build does not know: a newer server may share the database. */
export function parseNotice(text: string): Notice | null {
  try {
    return noticeSchema.safeParse(JSON.parse(text)).data ?? null;
  } catch {
    return null;
  }
}
