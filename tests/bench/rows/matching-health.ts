/** A health request while half of all shots are matched with the other half in a worker thread. */
import { setTimeout as delay } from 'node:timers/promises';
import type { AnalysisJob } from '../../../shared/job.ts';
import type { MeasureRow } from '../bench.ts';
import { milliseconds, type Row } from '../report.ts';
import { curatorToken, type RunningService, startService } from '../service/running-service.ts';

const mostMilliseconds = 50;
/** Between two health requests, ms. */
const pause = 5;
/** Mean number of candidates of a shot. */
const candidates = 30;
/** Spread of the shots of the pooled table, as it is filled: tip offset, cue speed (m/s), object-ball distance (m). */
const spreads = { tipOffset: 0.8, cueSpeed: 5, objectBallDistance: 1 } as const;

interface Seen {
  readonly at: number;
  readonly milliseconds: number;
}

export const measureMatchingHealth: MeasureRow = async ({ pool, program, shots, note }): Promise<Row> => {
  const service = await startService(await program(), await pool());
  try {
    const side = Math.round(shots / 2);
    note(`a comparison of about ${side} with ${side} shots, and health requests meanwhile`);
    const seen: Seen[] = [];
    const stop = new AbortController();
    const watching = watch(service, seen, stop.signal);
    const asked = performance.now();
    const job = await ask(service, side);
    const accepted = performance.now();
    const done = await ended(service, job);
    const finished = performance.now();
    stop.abort();
    await watching;
    if (done.state !== 'finished') throw new Error(`the comparison ${done.state}: ${done.problem?.detail ?? ''}`);
    const meanwhile = seen.filter(({ at }) => at >= accepted && at <= finished);
    const figure = percentile(meanwhile, 0.99);
    const before = seen.filter(({ at }) => at >= asked && at < accepted);
    return {
      work: `health request while about ${side} are matched with ${side}, 99th percentile`,
      floor: null,
      figure: milliseconds(figure),
      floorFigure: null,
      ratio: null,
      budget: `< ${milliseconds(mostMilliseconds)}`,
      within: figure < mostMilliseconds,
      parts: [
        `${meanwhile.length} requests, median ${milliseconds(percentile(meanwhile, 0.5))}, slowest ${milliseconds(percentile(meanwhile, 1))}`,
        `answered 202 after ${milliseconds(accepted - asked)} (columns filled; slowest health request then ${milliseconds(percentile(before, 1))}), the whole comparison took ${milliseconds(finished - accepted)} more`,
      ],
    };
  } finally {
    await service.stop();
  }
};

async function ask(service: RunningService, side: number): Promise<AnalysisJob> {
  // A cube whose volume, as a part of that of all shots, holds so many of one side.
  const share = (candidates / side) ** (1 / 3) / 2;
  const variables = Object.entries(spreads);
  const answer = await fetch(`${service.address}/v1/analyses/comparison`, {
    method: 'POST',
    headers: {
      authorization: `Bearer ${curatorToken}`,
      'content-type': 'application/json',
      prefer: 'respond-async',
    },
    body: JSON.stringify({
      contrast: { kind: 'sign', variable: 'cueAcceleration' },
      response: 'contactTime',
      match: variables.map(([variable, spread]) => ({ variable, caliper: share * spread })),
      exact: [],
    }),
  });
  const text = await answer.text();
  if (answer.status !== 202) throw new Error(`the comparison was answered ${answer.status}: ${text.slice(0, 500)}`);
  return JSON.parse(text) as AnalysisJob;
}

async function ended(service: RunningService, job: AnalysisJob): Promise<AnalysisJob> {
  for (;;) {
    const now = (await service.ask('GET', `/v1/jobs/${job.id}`)) as AnalysisJob;
    if (now.finishedAt !== null) return now;
    await delay(200);
  }
}

async function watch({ address }: RunningService, seen: Seen[], signal: AbortSignal): Promise<void> {
  while (!signal.aborted) {
    const at = performance.now();
    const answer = await fetch(`${address}/livez`);
    await answer.arrayBuffer();
    seen.push({ at, milliseconds: performance.now() - at });
    await delay(pause);
  }
}

function percentile(seen: readonly Seen[], share: number): number {
  const sorted = seen.map(({ milliseconds: time }) => time).sort((a, b) => a - b);
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN;
}
