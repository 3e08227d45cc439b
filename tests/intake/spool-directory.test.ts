import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { claimSpoolDirectory } from '../../src/intake/spool-directory.ts';

describe('the spool directory of a process', () => {
  let data = '';
  beforeEach(() => {
    data = mkdtempSync(join(tmpdir(), 'shot-commons-spool-test-'));
  });
  afterEach(() => rmSync(data, { recursive: true, force: true }));

  it('is empty, and takes the place of those whose process is gone', async () => {
    const gone = spawnSync(process.execPath, ['-e', '']).pid;
    mkdirSync(join(data, `spool-${gone}`));
    writeFileSync(join(data, `spool-${gone}`, 'submission.spool'), 'left');
    const own = await claimSpoolDirectory(data);
    expect(readdirSync(own)).toEqual([]);
    expect(existsSync(join(data, `spool-${gone}`))).toBe(false);
  });

  it('leaves the uploads of a server that runs alone', async () => {
    const other = join(data, `spool-${process.ppid}`);
    mkdirSync(other);
    writeFileSync(join(other, 'submission.spool'), 'arriving');
    await claimSpoolDirectory(data);
    expect(readdirSync(other)).toEqual(['submission.spool']);
  });
});
