/** From a verdict down to the frames: the pairs of a comparison with the addresses of their shots. */
import { z } from 'zod';
import { contactSchema } from './shot.ts';

const linkedShotSchema = z
  .strictObject({
    lab: z.string(),
    label: z.string(),
    response: z.number().meta({ description: 'As it entered the comparison, SI.' }),
    shot: z.string().nullable().meta({
      description: 'Address of the shot; null when this token does not see it any more, such as after withdrawal.',
    }),
    derivation: z.string().nullable().meta({ description: 'Every number step by step, with its budget.' }),
    track: z.string().nullable().meta({ description: 'The points as sent.' }),
    figure: z.string().nullable(),
    contact: contactSchema
      .nullable()
      .meta({ description: 'The frames counted, as sent with the current revision; null when none were.' }),
    countedContactTime: z.number().nullable().meta({ description: 'Counted frames over capture rate, s.' }),
    unchanged: z.boolean().nullable().meta({
      description:
        'Whether response and matching variables are still those of the comparison: a shot may have been amended, and a method changed, since. Null when the shot is not seen.',
    }),
  })
  .meta({ id: 'LinkedShot' });
export type LinkedShot = z.infer<typeof linkedShotSchema>;

export const pairLinksSchema = z
  .strictObject({
    analysis: z.string(),
    sentence: z.string().meta({ description: 'The verdict that these pairs stand behind.' }),
    pairs: z.array(
      z.strictObject({
        pair: z.int().meta({ description: 'Place in the answer, from 1.' }),
        first: linkedShotSchema,
        second: linkedShotSchema,
        distance: z.number(),
        overlay: z.string().nullable().meta({ description: 'The two shots over each other.' }),
      }),
    ),
    next: z.string().nullable(),
  })
  .meta({ id: 'PairLinks' });
export type PairLinks = z.infer<typeof pairLinksSchema>;
