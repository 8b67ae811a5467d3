// The command line: parses the words, calls one command, returns its exit status.
int main() { return 1; }
