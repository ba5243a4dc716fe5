/** Words of a text in lines of at most `width`, the first after `first`, the others after `indent`. */
export function wrapped(text: string, first: string, indent: string, width: number): string[] {
  const lines: string[] = [];
  let line = first;
  let empty = true;
  for (const word of text.split(' ')) {
    if (!empty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = indent;
      empty = true;
    }
    line += empty ? word : ` ${word}`;
    empty = false;
  }
  return [...lines, line];
}
