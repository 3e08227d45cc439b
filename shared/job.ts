/** Long questions as resources: asked, looked at, cancelled, answered. */
import { z } from 'zod';
import { problemSchema } from './problems.ts';

export const jobSteps = ['matching', 'judging'] as const;
export type JobStep = (typeof jobSteps)[number];

export const jobStates = ['waiting', 'running', 'cancelling', 'finished', 'failed', 'cancelled'] as const;
export type JobState = (typeof jobStates)[number];

export const analysisJobSchema = z
  .strictObject({
    id: z.uuid(),
    state: z.enum(jobStates).meta({
      description:
        'waiting: for a free thread. cancelling: another server works on it and stops within seconds. finished: follow result. failed: see problem. cancelled: by DELETE.',
    }),
    step: z
      .enum(jobSteps)
      .nullable()
      .meta({ description: 'What is being done: matching takes nearly all of the time. Null while waiting.' }),
    share: z.number().min(0).max(1).meta({ description: 'Done part of the step, from 0 to 1; written once a second.' }),
    askedAt: z.iso.datetime(),
    finishedAt: z.iso.datetime().nullable(),
    analysis: z.string().meta({ description: 'Id that the answer has, or will have.' }),
    result: z.string().nullable().meta({ description: 'Address of the answer once it is there.' }),
    problem: problemSchema.nullable().meta({ description: 'Why there is no answer.' }),
  })
  .meta({ id: 'AnalysisJob' });
export type AnalysisJob = z.infer<typeof analysisJobSchema>;
