/**
 * npm run verify -- bundle.zip [--digest HEX]: verifies a release offline, and that it is the one published under a
 * digest. Exit 0 verified, 1 differences, 2 usage or unreadable, 3 unknown format or method.
 */
import { readFile } from 'node:fs/promises';
import process, { argv, exit, stderr, stdout } from 'node:process';
import { parseArgs } from 'node:util';
import { verifyBundle } from '../releases/verify-bundle.ts';
import { exitCodeOf, verificationText } from './verification-text.ts';

const usageExit = 2;

function usage(): never {
  stderr.write('Usage: npm run verify -- bundle.zip [--digest HEX]\n');
  exit(usageExit);
}

function readArguments() {
  try {
    const { values, positionals } = parseArgs({
      args: argv.slice(2),
      options: { digest: { type: 'string' } },
      allowPositionals: true,
    });
    return { file: positionals.length === 1 ? positionals[0] : undefined, digest: values.digest?.toLowerCase() };
  } catch {
    return usage();
  }
}

const { file, digest } = readArguments();
if (file === undefined) usage();

let bundle: Uint8Array;
try {
  bundle = await readFile(file);
} catch (error) {
  stderr.write(`${file} cannot be read: ${error instanceof Error ? error.message : String(error)}\n`);
  exit(usageExit);
}

const report = verifyBundle(bundle);
stdout.write(`${verificationText(report)}\n`);
process.exitCode = exitCodeOf(report);
if (digest === undefined) {
  stdout.write(
    'Whether it is the release that was published: compare this digest with the published one, or give it as --digest.\n',
  );
} else if (digest !== report.digest) {
  stdout.write(`This is not the release published as ${digest}.\n`);
  process.exitCode = 1;
}
