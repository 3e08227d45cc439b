/** Whether a container runtime answers, found out quickly: the container library itself may search for long. */
import { existsSync } from 'node:fs';
import { request } from 'node:http';

/** Pings the socket or address of the runtime; false after one second of silence. */
export async function containerRuntimeAnswers(): Promise<boolean> {
  const host = process.env.DOCKER_HOST;
  const options =
    host?.startsWith('tcp://') === true
      ? { host: new URL(host).hostname, port: Number(new URL(host).port) || 2375 }
      : { socketPath: host?.startsWith('unix://') === true ? host.slice('unix://'.length) : '/var/run/docker.sock' };
  if (options.socketPath !== undefined && !existsSync(options.socketPath)) return false;
  return new Promise((resolve) => {
    const ping = request({ ...options, path: '/_ping', timeout: 1000 }, (response) => {
      response.resume();
      resolve(response.statusCode === 200);
    });
    ping.on('timeout', () => ping.destroy());
    ping.on('error', () => resolve(false));
    ping.on('close', () => resolve(false));
    ping.end();
  });
}
