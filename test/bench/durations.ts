/** Something to be timed, `repeat` times in a row where once is too short for the clock. */
export interface Task {
  readonly run: () => unknown;
  readonly repeat?: number;
}

/**
 * Milliseconds of one run of each task, round by round. Every round runs all of them, one after the
 * other and each round from another first, so that whatever else the machine does falls on all. A
 * round before the first is not counted.
 */
export function durations<Name extends string>(
  tasks: Readonly<Record<Name, Task>>,
  rounds: number,
): Readonly<Record<Name, number[]>> {
  const names = Object.keys(tasks) as Name[];
  const taken = Object.fromEntries(names.map((name) => [name, [] as number[]])) as Record<
    Name,
    number[]
  >;
  for (let round = -1; round < rounds; round++)
    for (const at of names.keys()) {
      const name = names[(at + Math.max(0, round)) % names.length];
      const { run, repeat = 1 } = tasks[name];
      const start = process.hrtime.bigint();
      for (let time = 0; time < repeat; time++) run();
      const end = process.hrtime.bigint();
      if (round >= 0) taken[name].push(Number(end - start) / 1e6 / repeat);
    }
  return taken;
}
