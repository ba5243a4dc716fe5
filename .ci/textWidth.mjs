// Stands in for the package string-width, with which yargs lays out its help: ours is plain ASCII, and
// building the package's tables of emoji takes longer than all else that the command does to start.
export default (text) => text.length;
