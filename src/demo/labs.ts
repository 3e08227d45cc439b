/** The four invented labs. Nothing here describes a real place, person or product. */
import type { DemoLab } from './lab-model.ts';
import { harbour } from './labs/harbour.ts';
import { northBench } from './labs/north-bench.ts';
import { oldMill } from './labs/old-mill.ts';
import { ridge } from './labs/ridge.ts';

export const demoLabs: readonly DemoLab[] = [northBench, harbour, oldMill, ridge];
