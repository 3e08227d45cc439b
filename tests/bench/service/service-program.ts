/** The server as a program of its own: built as `npm start` builds it, or through tsx when the build fails. */
import { execFile } from 'node:child_process';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { packageRoot } from '../../../src/store/package-root.ts';

export interface ServiceProgram {
  /** For node. */
  readonly commandLine: readonly string[];
  readonly description: string;
}

export async function buildService(note: (text: string) => void): Promise<ServiceProgram> {
  note('building the server');
  const root = packageRoot();
  try {
    // npm is a script of its own on some systems, so a shell finds it.
    await promisify(execFile)('npm', ['run', '--silent', 'build'], { cwd: root, shell: process.platform === 'win32' });
  } catch {
    return {
      commandLine: ['--import', 'tsx', join(root, 'src', 'main.ts')],
      description: 'tsx src/main.ts, because the build failed',
    };
  }
  return {
    commandLine: ['--enable-source-maps', join(root, 'dist', 'src', 'main.js')],
    description: 'node dist/src/main.js',
  };
}
