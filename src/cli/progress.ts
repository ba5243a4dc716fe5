/** A line that tells how far a long run has come; nothing where nobody watches. */
export interface Progress {
  /** So much more is done; 1 where nothing is said. */
  readonly step: (by?: number) => void;
  readonly end: () => void;
}

const silent: Progress = { step: () => {}, end: () => {} };

/** Runs of fewer files, and scans of fewer bytes, are over before a line could be read. */
const fewestForProgress = 40;
const fewestWithScan = 2;
const leastScan = 20e6;
/** Between two drawings of a line, ms. */
const pause = 100;

/** A line drawn as the work goes on: work in this thread leaves a timer no time. */
async function drawnLine(
  total: number,
  format: string,
  stream: NodeJS.WriteStream,
): Promise<Progress> {
  const { SingleBar } = (await import('cli-progress')).default;
  const bar = new SingleBar({ stream, format, hideCursor: true, clearOnComplete: true });
  bar.start(total, 0);
  let done = 0;
  let drawn = Date.now();
  return {
    step: (by = 1) => {
      done = Math.min(total, done + by);
      bar.update(done);
      const now = Date.now();
      if (now - drawn < pause) return;
      drawn = now;
      bar.render();
    },
    end: () => bar.stop(),
  };
}

/** How many of the files of a run are judged. */
export async function progress(
  total: number,
  hasScan: boolean,
  stream: NodeJS.WriteStream,
): Promise<Progress> {
  if (!stream.isTTY || total < (hasScan ? fewestWithScan : fewestForProgress)) return silent;
  const format = 'judged {value} of {total} files, about {eta_formatted} to go';
  return drawnLine(total, format, stream);
}

/** How much of a scan of so many bytes is read. */
export async function scanProgress(
  name: string,
  bytes: number,
  stream: NodeJS.WriteStream,
): Promise<Progress> {
  if (!stream.isTTY || bytes < leastScan) return silent;
  // braces would be taken as gaps of the line
  const shown = name.replace(/[{}]/g, '?');
  return drawnLine(
    bytes,
    `reading ${shown}: {percentage} %, about {eta_formatted} to go; then it is made ready`,
    stream,
  );
}
