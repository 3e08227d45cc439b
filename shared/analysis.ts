/** The parts that regression and comparison specifications share. */
import { z } from 'zod';
import { flagNames } from './flags.ts';
import { slugSchema, storableText } from './measure.ts';
import { groupingNames, variableNames } from './quantities.ts';

export const variableSchema = z.enum(variableNames);
export const groupingSchema = z.enum(groupingNames);

/** Which shots take part. Intervals are closed and in SI; a null value never matches. */
export const filterSchema = z
  .strictObject({
    ranges: z
      .array(z.strictObject({ variable: variableSchema, min: z.number().optional(), max: z.number().optional() }))
      .max(20)
      .default([]),
    groups: z
      .array(z.strictObject({ grouping: groupingSchema, values: z.array(storableText(0, 200)).min(1).max(200) }))
      .max(20)
      .default([]),
    includeReported: z
      .boolean()
      .default(false)
      .meta({ description: 'Take in shots without tracks; the answer then carries a warning.' }),
    includeFlags: z
      .array(z.enum(flagNames as [string, ...string[]]))
      .max(flagNames.length)
      .default([])
      .meta({ description: 'Flags that would leave a shot out, but shall not here.' }),
  })
  .meta({ id: 'Filter' });
export type Filter = z.output<typeof filterSchema>;

export const sourceSchema = z.union([z.literal('live'), z.strictObject({ release: storableText(1, 90) })]).meta({
  description: 'live: the current shared shots. release: dataset@number or the digest of a frozen release.',
});
export const scopeSchema = z.union([z.literal('shared'), z.templateLiteral(['lab:', slugSchema])]).meta({
  description: "shared: the same for every caller. lab:{slug}: shared shots and that lab's own; only for that lab.",
});

export const commonSpecification = {
  filter: filterSchema.prefault({}),
  source: sourceSchema.default('live'),
  scope: scopeSchema.default('shared'),
  confidence: z.number().min(0.5).max(0.999).default(0.95),
};

export const intervalSchema = z.strictObject({ lower: z.number(), upper: z.number() });

/** A remark in words, with its stable code; thresholds stand in the text. */
export const warningSchema = z.strictObject({ code: z.string(), text: z.string() }).meta({ id: 'Warning' });
export type Warning = z.infer<typeof warningSchema>;

/** Where an answer comes from: enough to ask the very same question again. */
export const provenanceSchema = z
  .strictObject({
    specificationDigest: z.string().meta({ description: 'SHA-256 of the canonical specification.' }),
    dataVersion: z
      .string()
      .meta({ description: 'SHA-256 of epoch, method, scope and lab versions, or the digest of the release.' }),
    methodVersion: z.string(),
    labs: z.array(z.strictObject({ lab: z.string(), shots: z.int() })),
    shots: z.int().meta({ description: 'Shots that entered the answer.' }),
    leftOut: z.array(z.strictObject({ reason: z.string(), shots: z.int() })),
  })
  .meta({ id: 'Provenance' });
export type Provenance = z.infer<typeof provenanceSchema>;
