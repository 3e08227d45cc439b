/** Calibrations of a table: a series goes in, friction with its budget comes out and becomes the next version. */
import { z } from 'zod';
import { slugSchema } from '../../../shared/measure.ts';
import { submissionQuerySchema } from '../../../shared/submission.ts';
import { calibrationInputSchema, tableCalibrationRecordSchema } from '../../../shared/table-calibration.ts';
import { calibrate, listCalibrations } from '../../access/calibrations.ts';
import { labParameter, type Routes, refusals } from './common.ts';

const parameters = labParameter.extend({ name: slugSchema });
const { dryRun } = submissionQuerySchema.shape;

export const calibrationRoutes: Routes = async (scope, { db }) => {
  const tags = ['gear'];
  scope.post(
    '/labs/:lab/tables/:name/calibrations',
    {
      schema: {
        summary: 'Calibrate a table by a series of roll-outs or stop shots (lead); dryRun=true computes only',
        description:
          'Gives sliding friction and rolling resistance with their budgets and keeps them, with the series, as the next version of the table. Let earlier shots adopt that version by POST .../adoptions.',
        tags,
        params: parameters,
        querystring: z.strictObject({ dryRun }),
        body: calibrationInputSchema,
        response: { 200: tableCalibrationRecordSchema, 201: tableCalibrationRecordSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const { principal, params, body, query } = request;
      const made = await calibrate(db, principal, params.lab, params.name, body, query.dryRun);
      return reply.code(query.dryRun ? 200 : 201).send(made);
    },
  );
  scope.get(
    '/labs/:lab/tables/:name/calibrations',
    {
      schema: {
        summary:
          'Calibrated versions of a table, newest first: series, friction with budget, and shots that rest on it',
        tags,
        params: parameters,
        response: {
          200: z.strictObject({ calibrations: z.array(tableCalibrationRecordSchema) }),
          ...refusals,
        },
      },
    },
    async ({ principal, params }) => ({
      calibrations: await listCalibrations(db, principal, params.lab, params.name),
    }),
  );
};
