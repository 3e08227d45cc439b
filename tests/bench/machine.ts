/** On what the figures were measured. */
import { availableParallelism, cpus, loadavg, totalmem } from 'node:os';

export function machineText(): string[] {
  const model = cpus()[0]?.model.trim() ?? 'unknown processor';
  return [
    `processor  ${model}, ${availableParallelism()} cores for this process`,
    `memory     ${(totalmem() / 1e9).toFixed(1)} GB`,
    `load       ${loadavg()
      .map((value) => value.toFixed(1))
      .join(', ')} (1, 5, 15 minutes) before the run: what else runs makes every figure larger`,
    `node       ${process.version} on ${process.platform} ${process.arch}`,
  ];
}
