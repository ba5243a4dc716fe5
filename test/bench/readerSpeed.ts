import { basename } from 'node:path';
import { igesText } from '../../fixtures/igesText.ts';
import { manyPanels } from '../../fixtures/manyPanels.ts';
import type { NamedNet } from '../../fixtures/namedNet.ts';
import { stepText } from '../../fixtures/stepText.ts';
import { vdafsText } from '../../fixtures/vdafsText.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { readVdaFs } from '../../src/intake/vdafs/readVdaFs.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { durations, type Task } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';
import { kernelReading, loadedKernel } from './kernelReading.ts';

/** What the kernel reads as well. */
type KernelFormat = 'iges' | 'step';
type TextFormat = KernelFormat | 'vda-fs';

const readers: Readonly<Record<TextFormat, (bytes: Uint8Array) => Intake>> = {
  iges: readIges,
  step: readStep,
  'vda-fs': readVdaFs,
};
const texts = { iges: igesText, step: stepText, 'vda-fs': vdafsText } as const;
const megabyte = 1e6;

/** Real files that the kernel reads too: the largest of each format. */
const realFiles = {
  iges: ['surfaces/pipe-rational.iges', 'surfaces/ship-half.iges'],
  step: ['surfaces/ship-half.step'],
} as const;
/** Real files are small: this much is read of one in a row. */
const realBytes = 4 * megabyte;

/** `count` panels, of which 300 differ. */
function namedNets(count: number): NamedNet[] {
  const nets = Array.from(manyPanels(Math.min(count, 300), 2), ({ text }) => {
    const [panel] = readIges(Buffer.from(text)).panels;
    return panel.net;
  });
  return Array.from({ length: count }, (_, k) => ({
    name: `P${k + 1}`,
    net: nets[k % nets.length],
  }));
}

/** A file of at least that many bytes. */
function largeFile(format: TextFormat, least: number): { bytes: Buffer; panels: number } {
  const sample = 300;
  const each = texts[format](namedNets(sample)).length / sample;
  const panels = Math.ceil((1.02 * least) / each);
  return { bytes: Buffer.from(texts[format](namedNets(panels))), panels };
}

function reading(format: TextFormat, bytes: Buffer, panels: number, repeat = 1): Task {
  return {
    repeat,
    run: () => {
      const intake = readers[format](bytes);
      if (intake.panels.length !== panels || intake.faults.length > 0)
        throw new Error(`${intake.panels.length} of ${panels} ${format} panels were read`);
    },
  };
}

const decoding = (bytes: Buffer, repeat = 1): Task => ({
  repeat,
  run: () => bytes.toString('latin1'),
});

/** What the readers get through: a large file, and the same against the kernel on smaller ones. */
export async function readerFigures(
  large: number,
  small: number,
  rounds: number,
): Promise<Figure[]> {
  const figures: Figure[] = [];
  for (const format of ['iges', 'step', 'vda-fs'] as const) {
    const { bytes, panels } = largeFile(format, large);
    const taken = durations(
      { ours: reading(format, bytes, panels), latin: decoding(bytes) },
      rounds,
    );
    const amount = { value: bytes.length / megabyte, unit: 'MB' };
    figures.push(
      figureOf(
        `${format} reader: ${amount.value.toFixed(1)} MB of ${panels} panels, against decoding the bytes`,
        'as long',
        { name: 'reader', taken: taken.ours, amount },
        { name: "toString('latin1')", taken: taken.latin, amount },
      ),
    );
  }
  const oc = await loadedKernel();
  const against = (name: string, format: KernelFormat, bytes: Buffer, repeat: number): void => {
    const panels = readers[format](bytes).panels.length;
    const taken = durations(
      {
        ours: reading(format, bytes, panels, repeat),
        latin: decoding(bytes, repeat),
        kernel: kernelReading(oc, bytes, format),
      },
      rounds,
    );
    const amount = { value: bytes.length / megabyte, unit: 'MB' };
    const ours = { name: 'reader', taken: taken.ours, amount };
    figures.push(
      figureOf(
        `${format} reader: ${name}, against the kernel`,
        'as fast',
        ours,
        { name: 'kernel', taken: taken.kernel, amount },
        'at least 10',
      ),
      figureOf(`${format} reader: ${name}, against decoding the bytes`, 'as long', ours, {
        name: "toString('latin1')",
        taken: taken.latin,
        amount,
      }),
    );
  };
  for (const format of ['iges', 'step'] as const) {
    const { bytes, panels } = largeFile(format, small);
    const size = (bytes.length / megabyte).toFixed(1);
    against(`${size} MB of ${panels} panels`, format, bytes, Math.ceil(realBytes / bytes.length));
    for (const file of realFiles[format]) {
      if (corpusFolder === null) {
        console.log(`left out, the corpus is not here: ${file}`);
        continue;
      }
      const real = corpusBytes(file);
      against(basename(file), format, real, Math.ceil(realBytes / real.length));
    }
  }
  return figures;
}
