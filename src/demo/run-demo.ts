/** The whole job, once, through the public interface: labs, uploads, questions, a release, its verification. */
import { z } from 'zod';
import { type ComparisonResult, comparisonResultSchema, marginSchema } from '../../shared/comparison.ts';
import { type RegressionResult, regressionResultSchema } from '../../shared/regression.ts';
import { releaseSchema } from '../../shared/release.ts';
import { verifyBundle } from '../releases/verify-bundle.ts';
import { apiOf } from './api.ts';
import { demoSeed, generateLab } from './generator.ts';
import { demoLabs } from './labs.ts';
import { modelSlope } from './model-slope.ts';
import {
  accelerationContrast,
  contactAgainstAcceleration,
  contactAgainstDraw,
  contactAgainstSpeed,
  margin as marginInput,
  speedContrast,
} from './questions.ts';
import { makeReaderToken, registerLab } from './register-lab.ts';
import { reportComparison } from './report/report-comparison.ts';
import {
  reportAccelerationSlope,
  reportContactBySpeed,
  reportDraw,
  reportSpeedSlope,
} from './report/report-contact.ts';
import { reportLabs } from './report/report-labs.ts';
import { reportLowHits } from './report/report-low-hits.ts';
import { reportRelease } from './report/report-release.ts';
import { reportRemarks } from './report/report-remarks.ts';
import { reportTruth } from './report/report-truth.ts';
import { reportUploads } from './report/report-uploads.ts';
import { type LabUploads, uploadLab } from './upload-lab.ts';

export interface DemoResult {
  readonly readerToken: string;
  /** dataset@number */
  readonly release: string;
}

const anything = z.looseObject({});
const regressionAnswer = z.looseObject({ result: regressionResultSchema });
const comparisonAnswer = z.looseObject({ result: comparisonResultSchema });
const dataset = 'demo-strokes';

/**
 * Runs the demo against a service that is fresh.
 *
 * @param print takes the report section by section, as it comes
 * @throws Error when the service refuses what it should accept
 */
export async function runDemo(
  address: string,
  curatorToken: string,
  print: (lines: readonly string[]) => void,
): Promise<DemoResult> {
  const curator = apiOf(address, curatorToken);
  // Declared first: a margin counts as prior only when it precedes every shot that it judges.
  const margin = await curator.post('/v1/margins', marginInput, marginSchema);
  const generated = demoLabs.map((lab) => generateLab(demoSeed, lab));

  print(reportLabs(demoLabs));
  const uploads: LabUploads[] = [];
  for (const [index, lab] of demoLabs.entries()) {
    const registered = await registerLab(curator, lab);
    uploads.push(await uploadLab(registered, generated[index] ?? [], demoSeed));
  }
  print(reportUploads(uploads));

  const readerToken = await makeReaderToken(curator);
  const reader = apiOf(address, readerToken);
  const regression = async (question: unknown): Promise<RegressionResult> =>
    (await reader.post('/v1/analyses/regression', question, regressionAnswer)).result;
  const comparison = async (question: unknown): Promise<ComparisonResult> =>
    (await reader.post('/v1/analyses/comparison', question, comparisonAnswer)).result;

  const shots = await reader.allShots();
  const slugs = demoLabs.map(({ registration }) => registration.slug);
  print(reportRemarks(shots));
  print(reportContactBySpeed(shots, slugs));
  print(reportSpeedSlope(await regression(contactAgainstSpeed)));
  print(reportAccelerationSlope(await regression(contactAgainstAcceleration), modelSlope(demoLabs)));
  print(reportDraw(await regression(contactAgainstDraw)));
  print(reportLowHits(shots));
  print(
    reportComparison(
      'Accelerating against slowing strokes',
      await comparison(accelerationContrast(margin.id)),
      margin,
      'm/s2',
    ),
  );
  print(
    reportComparison(
      'Faster against slower strokes at the same tip offset',
      await comparison(speedContrast(margin.id)),
      margin,
      'm/s',
    ),
  );
  print(reportTruth(shots, generated.flat()));

  await curator.post(
    '/v1/datasets',
    { slug: dataset, title: 'Strokes of four invented labs', licence: 'CC-BY-4.0' },
    anything,
  );
  const release = await curator.post(
    `/v1/datasets/${dataset}/releases`,
    {
      analyses: [
        { kind: 'regression', specification: contactAgainstSpeed },
        { kind: 'regression', specification: contactAgainstDraw },
        { kind: 'comparison', specification: accelerationContrast(margin.id) },
      ],
    },
    releaseSchema,
  );
  const name = `${release.dataset}@${release.number}`;
  const bundle = await reader.download(`/v1/releases/${name}/bundle.zip`);
  print(reportRelease(release, bundle.byteLength, verifyBundle(bundle)));
  return { readerToken, release: name };
}
