/** Kills the server at random moments of an upload and looks at what the next one finds. */
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { goodShot } from '../../intake/invented.ts';
import { seededUniform } from '../../kinematics/simulated-strokes.ts';
import { type Answer, type Place, ServerProcess } from './server-process.ts';

export interface KillCounts {
  readonly rounds: number;
  /** Answered with 201 before the kill: must be whole. */
  readonly acknowledged: number;
  /** Not answered and absent. */
  readonly absent: number;
  /** Committed, but killed before the answer was out: whole, and a repeat under its key gets the stored answer. */
  readonly wholeUnanswered: number;
  /** Kills in each quarter of the usual time from the first byte to the answer, then those after it. */
  readonly moments: readonly number[];
  /** Anything else, in words; must be empty. */
  readonly wrong: readonly string[];
}

const shots = 80;

function* lines(prefix: string): Generator<string> {
  for (let number = 0; number < shots; number += 1) {
    const { cue: _cue, table: _table, ...shot } = goodShot(`${prefix}-${number}`);
    yield `${JSON.stringify(shot)}\n`;
  }
}

interface StoredShots {
  readonly shots: readonly { readonly derived: unknown; readonly content: { readonly label: string } }[];
}

/** Uploads that still wait in the spool. */
function spoolFiles(directory: string): number {
  const folders = existsSync(directory) ? readdirSync(directory).filter((name) => name.startsWith('spool')) : [];
  return folders.reduce((sum, name) => sum + readdirSync(join(directory, name)).length, 0);
}

/** @param seed of the moments; kills fall evenly between the first byte and a little after the usual answer */
export async function killRounds(place: Place, rounds: number, seed: number): Promise<KillCounts> {
  const uniform = seededUniform(seed);
  const counts = { acknowledged: 0, absent: 0, wholeUnanswered: 0 };
  const moments = [0, 0, 0, 0, 0];
  const wrong: string[] = [];
  let server = await ServerProcess.start(place);
  const warmUp = await server.makeLab('warm-up');
  const started = performance.now();
  await server.upload('warm-up', warmUp, lines('w'));
  let usual = performance.now() - started;
  for (let round = 0; round < rounds; round += 1) {
    const slug = `round-${round}`;
    const token = await server.makeLab(slug);
    const begun = performance.now();
    const pending = server.upload(slug, token, lines(slug), `key-${round}`).then(
      (answer) => {
        usual = 0.7 * usual + 0.3 * (performance.now() - begun);
        return answer;
      },
      (): Answer | null => null,
    );
    await sleep(1.15 * usual * uniform());
    const quarter = Math.min(4, Math.floor((4 * (performance.now() - begun)) / usual));
    moments[quarter] = (moments[quarter] ?? 0) + 1;
    await server.kill();
    const answer = await pending;
    server = await ServerProcess.start(place);
    const found = (await server.ask('GET', `/v1/shots?lab=${slug}&limit=1000`, undefined, token)) as StoredShots;
    const waiting = spoolFiles(place.directory);
    if (waiting > 0) wrong.push(`round ${round}: ${waiting} files were left in the spool`);
    const whole = found.shots.length === shots && found.shots.every(({ derived }) => derived !== null);
    if (answer?.status === 201) {
      counts.acknowledged += 1;
      if (!whole) wrong.push(`round ${round}: acknowledged, but ${found.shots.length} of ${shots} shots are there`);
    } else if (answer !== null) {
      wrong.push(`round ${round}: answered ${answer.status}`);
    } else if (found.shots.length === 0) {
      counts.absent += 1;
    } else if (whole) {
      counts.wholeUnanswered += 1;
      const repeated = await server.upload(slug, token, lines(slug), `key-${round}`);
      if (repeated.status !== 201) wrong.push(`round ${round}: the repeat was answered ${repeated.status}`);
    } else {
      wrong.push(`round ${round}: ${found.shots.length} of ${shots} shots are there`);
    }
  }
  await server.stop();
  return { rounds, ...counts, moments, wrong };
}
