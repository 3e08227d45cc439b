/** Datasets and freezing: a rule, and the numbered releases made from it. */
import { z } from 'zod';
import { slugSchema } from '../../../shared/measure.ts';
import { datasetInputSchema, releaseInputSchema, releaseSchema } from '../../../shared/release.ts';
import { createDataset, getDataset, listDatasets } from '../../releases/datasets.ts';
import { freezeRelease } from '../../releases/freeze.ts';
import { listReleases } from '../../releases/releases.ts';
import { type Routes, refusals } from './common.ts';

const datasetSchema = datasetInputSchema.extend({ createdAt: z.iso.datetime() }).meta({ id: 'Dataset' });
const parameters = z.strictObject({ dataset: slugSchema });
const tags = ['releases'];

export const datasetRoutes: Routes = async (scope, { db }) => {
  scope.post(
    '/datasets',
    {
      schema: {
        summary: 'Name a rule that selects shared shots (curator)',
        tags,
        body: datasetInputSchema,
        response: { 201: datasetSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const dataset = await createDataset(db, request.principal, request.body);
      return reply.code(201).header('location', `/v1/datasets/${dataset.slug}`).send(dataset);
    },
  );
  scope.get(
    '/datasets',
    {
      schema: {
        summary: 'All datasets',
        tags,
        response: { 200: z.strictObject({ datasets: z.array(datasetSchema) }), ...refusals },
      },
    },
    async (request) => ({ datasets: await listDatasets(db, request.principal) }),
  );
  scope.get(
    '/datasets/:dataset',
    { schema: { summary: 'One dataset', tags, params: parameters, response: { 200: datasetSchema, ...refusals } } },
    async (request) => getDataset(db, request.principal, request.params.dataset),
  );
  scope.post(
    '/datasets/:dataset/releases',
    {
      schema: {
        summary: 'Freeze the next release (curator)',
        tags,
        params: parameters,
        body: releaseInputSchema,
        response: { 201: releaseSchema, ...refusals },
      },
    },
    async (request, reply) => {
      const release = await freezeRelease(db, request.principal, request.params.dataset, request.body);
      return reply.code(201).header('location', `/v1/releases/${release.dataset}@${release.number}`).send(release);
    },
  );
  scope.get(
    '/datasets/:dataset/releases',
    {
      schema: {
        summary: 'Releases of a dataset, newest first',
        tags,
        params: parameters,
        response: { 200: z.strictObject({ releases: z.array(releaseSchema) }), ...refusals },
      },
    },
    async (request) => ({ releases: await listReleases(db, request.principal, request.params.dataset) }),
  );
};
