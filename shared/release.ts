/** Datasets and frozen releases. */
import { z } from 'zod';
import { filterSchema } from './analysis.ts';
import { comparisonSpecificationSchema } from './comparison.ts';
import { slugSchema, storableText } from './measure.ts';
import { regressionSpecificationSchema } from './regression.ts';

export const datasetInputSchema = z
  .strictObject({
    slug: slugSchema,
    title: storableText(1, 200),
    licence: storableText(1, 60).meta({ description: 'SPDX identifier, for example CC-BY-4.0.' }),
    filter: filterSchema.prefault({}).meta({ description: 'The rule: which shared shots belong.' }),
  })
  .meta({ id: 'DatasetRule' });
export type DatasetInput = z.output<typeof datasetInputSchema>;

export const recordedQuestionSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('regression'), specification: regressionSpecificationSchema }),
  z.strictObject({ kind: z.literal('comparison'), specification: comparisonSpecificationSchema }),
]);
export type RecordedQuestion = z.output<typeof recordedQuestionSchema>;

export const releaseInputSchema = z
  .strictObject({
    analyses: z.array(recordedQuestionSchema).max(50).default([]).meta({
      description: 'Questions to ask of the frozen shots and record with them; source is the release itself.',
    }),
  })
  .meta({ id: 'ReleaseOrder' });
export type ReleaseInput = z.output<typeof releaseInputSchema>;

/** The manifest holds nothing that differs between servers: no ids, clock times, addresses. Its SHA-256 is the digest. */
export const manifestSchema = z
  .strictObject({
    format: z.literal(1),
    dataset: slugSchema,
    number: z.int().min(1),
    title: z.string(),
    licence: z.string(),
    methodVersion: z.string(),
    rule: filterSchema,
    shots: z.int(),
    labs: z.array(
      z.strictObject({
        lab: slugSchema,
        title: z.string(),
        shots: z.int(),
        dataLicence: z.string(),
        consentReference: z.string(),
      }),
    ),
    files: z.array(z.strictObject({ name: z.string(), size: z.int(), sha256: z.string() })),
  })
  .meta({ id: 'Manifest' });
export type Manifest = z.infer<typeof manifestSchema>;

export const releaseSchema = z
  .strictObject({
    dataset: z.string(),
    number: z.int(),
    digest: z.string(),
    frozenAt: z.iso.datetime(),
    methodVersion: z.string(),
    shots: z.int(),
    manifest: z.string().meta({ description: 'Address of the manifest.' }),
    bundle: z.string().meta({ description: 'Address of the ZIP bundle.' }),
  })
  .meta({ id: 'Release' });
export type Release = z.infer<typeof releaseSchema>;
