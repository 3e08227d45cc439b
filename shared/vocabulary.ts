/** Curated terms of stroke styles and grips, and the codes of a lab that mean them. */
import { z } from 'zod';
import { codeSchema, slugSchema, storableText } from './measure.ts';

export const vocabularyKinds = ['strokeStyle', 'grip'] as const;
export type VocabularyKind = (typeof vocabularyKinds)[number];
export const vocabularyKindSchema = z.enum(vocabularyKinds);

export const vocabularyTermSchema = z
  .strictObject({
    kind: vocabularyKindSchema,
    code: slugSchema,
    meaning: storableText(5, 500),
  })
  .meta({ id: 'VocabularyTerm' });
export type VocabularyTerm = z.infer<typeof vocabularyTermSchema>;

export const vocabularyMappingSchema = z
  .strictObject({
    kind: vocabularyKindSchema,
    code: codeSchema.meta({ description: "The lab's own code." }),
    term: slugSchema.meta({ description: 'The curated term that it means.' }),
  })
  .meta({ id: 'VocabularyMapping' });
export type VocabularyMapping = z.infer<typeof vocabularyMappingSchema>;
