/** The worked example of README, run as a reader would: its own commands, against a listening server. */
import { execFile } from 'node:child_process';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { packageRoot } from '../../src/store/package-root.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { type Service, startService } from './service.ts';

const run = promisify(execFile);

/** A shell block after a heading of README: the first, or the one at another place. */
async function commandsUnder(heading: string, place = 0): Promise<string> {
  const readme = await readFile(join(packageRoot(), 'README.md'), 'utf8');
  const after = readme.split(`\n## ${heading}\n`)[1] ?? '';
  const block = [...after.matchAll(/```sh\n([\s\S]*?)```/g)][place]?.[1];
  if (block === undefined) throw new Error(`README has no shell block under '${heading}'`);
  return block;
}

onEachDatabase((open) => {
  let service: Service;
  let address: string;
  let directory: string;
  beforeAll(async () => {
    service = await startService(open());
    address = await service.app.listen({ host: '127.0.0.1', port: 0 });
    directory = await mkdtemp(join(tmpdir(), 'shot-commons-readme-'));
    await mkdir(join(directory, 'data'));
    await writeFile(join(directory, 'data', 'curator-token'), `${service.tokens.curator}\n`);
  });
  afterAll(async () => {
    await service.app.close();
    await rm(directory, { recursive: true, force: true });
  });

  const shell = async (commands: string) => {
    const { stdout } = await run('bash', ['-euo', 'pipefail', '-c', commands.replace(/^URL=.*$/m, `URL=${address}`)], {
      cwd: directory,
    });
    return stdout;
  };

  it('registers a lab and its rig, uploads one shot and reads what was computed', async () => {
    await shell(`${await commandsUnder('Worked example')}\nprintf %s "$LEAD" > lead-token\n`);
    const { shots } = (await service.ask('reader', 'GET', '/v1/shots?lab=my-lab')).json;
    expect(shots).toHaveLength(1);
    const { derived } = shots[0];
    // The positions of README were drawn from 2.4 m/s and 18 m/s2 at first contact, with 0.03 mm of noise.
    expect(derived.cueSpeed.lower).toBeLessThan(2.4);
    expect(derived.cueSpeed.upper).toBeGreaterThan(2.4);
    expect(derived.cueAcceleration.lower).toBeLessThan(18);
    expect(derived.cueAcceleration.upper).toBeGreaterThan(18);
    expect(derived.contactTime.value).toBeCloseTo(0.0015, 4);
    expect(derived.tipOffset.value).toBeLessThan(0);
  });

  it('uploads the templates as they stand, first as a trial without tracks, then with them', async () => {
    const readme = await readFile(join(packageRoot(), 'README.md'), 'utf8');
    const commands = readme
      .split('\n### Tables from a spreadsheet or a script\n')[1]
      ?.match(/```sh\n([\s\S]*?)```/)?.[1];
    const answers = await shell(`URL=x\nLEAD=$(cat lead-token)\n${commands}`);
    const [trial, stored] = answers.split(/(?<=\})(?=\{)/).map((text) => JSON.parse(text));
    expect(trial).toMatchObject({ dryRun: true, stored: false, counts: { created: 1, rejected: 0 } });
    expect(stored).toMatchObject({ dryRun: false, stored: true, counts: { created: 1, rejected: 0 } });
    const { shots } = (await service.ask('reader', 'GET', '/v1/shots?lab=my-lab')).json;
    expect(shots).toHaveLength(1);
    const own = (
      await service.ask({ token: await readFile(join(directory, 'lead-token'), 'utf8') }, 'GET', '/v1/shots?lab=my-lab')
    ).json;
    const [, fromTables] = own.shots;
    expect(fromTables.derived.source).toBe('track');
    expect(fromTables.derived.cueSpeed.lower).toBeLessThan(2.4);
    expect(fromTables.derived.cueSpeed.upper).toBeGreaterThan(2.4);
  });

  it('asks the questions of the second example', async () => {
    const commands = await commandsUnder('Asking questions');
    // One shot cannot answer them: each curl gets a problem that says so, not a failure.
    const answers = await shell(`URL=x\n${commands.replace(/^TOKEN=.*$/m, `TOKEN=${service.tokens.reader}`)}`);
    expect(answers.match(/"code":"not-estimable"/g)).toHaveLength(2);
  });

  it('asks for a dashboard over GraphQL', async () => {
    const commands = await commandsUnder('Asking questions', 1);
    const { errors } = JSON.parse(await shell(`URL=x\nTOKEN=${service.tokens.reader}\n${commands}`));
    // The query is valid; one shot cannot answer its trend.
    expect(errors).toMatchObject([{ path: ['trend'], extensions: { code: 'not-estimable' } }]);
  });
});
