/** Finding shots by what was derived from them. */
import { z } from 'zod';
import { variableSchema } from './analysis.ts';
import { type FlagName, flagNames } from './flags.ts';
import { calendarDateSchema, codeSchema, slugSchema } from './measure.ts';

const flagsSchema = z.array(z.enum(flagNames as [FlagName, ...FlagName[]])).max(flagNames.length);

/** Which shots to list. Intervals are closed and in SI; a value that is missing never matches. */
export const shotSearchSchema = z
  .strictObject({
    labs: z.array(slugSchema).max(200).optional().meta({ description: 'Slugs of labs.' }),
    ranges: z
      .array(
        z
          .strictObject({
            variable: variableSchema.meta({ description: 'Which variable.' }),
            min: z.number().optional().meta({ description: 'Smallest value, SI.' }),
            max: z.number().optional().meta({ description: 'Largest value, SI.' }),
          })
          .meta({ id: 'VariableRange', description: 'A closed interval of a variable.' }),
      )
      .max(20)
      .optional()
      .meta({ description: 'Intervals of variables; a shot must lie in all of them.' }),
    players: z.array(codeSchema).max(200).optional().meta({ description: 'Codes of players.' }),
    from: calendarDateSchema.optional().meta({ description: 'Earliest session date.' }),
    to: calendarDateSchema.optional().meta({ description: 'Latest session date.' }),
    withFlags: flagsSchema.optional().meta({ description: 'Flags of which a shot must carry at least one.' }),
    withoutFlags: flagsSchema.optional().meta({ description: 'Flags of which a shot must carry none.' }),
  })
  .meta({
    id: 'ShotSearch',
    description: 'Which shots to list. Intervals are closed and in SI; a value that is missing never matches.',
  });
export type ShotSearch = z.output<typeof shotSearchSchema>;

export const shotOrderSchema = z
  .strictObject({
    by: variableSchema.meta({ description: 'By which variable.' }),
    descending: z.boolean().default(false).meta({ description: 'Largest first.' }),
  })
  .meta({ id: 'ShotOrder', description: 'How to order shots. Those without the value come last in either direction.' });
export type ShotOrder = z.output<typeof shotOrderSchema>;
