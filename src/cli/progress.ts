/** A line that tells how far a long run has come; nothing where nobody watches. */
export interface Progress {
  readonly step: () => void;
  readonly end: () => void;
}

const silent: Progress = { step: () => {}, end: () => {} };

/** Runs of fewer files are over before a line could be read. */
const fewestForProgress = 40;

export async function progress(total: number, stream: NodeJS.WriteStream): Promise<Progress> {
  if (!stream.isTTY || total < fewestForProgress) return silent;
  const { SingleBar } = (await import('cli-progress')).default;
  const bar = new SingleBar({
    stream,
    format: 'judged {value} of {total} files, about {eta_formatted} to go',
    hideCursor: true,
    clearOnComplete: true,
  });
  bar.start(total, 0);
  return { step: () => bar.increment(), end: () => bar.stop() };
}
