process.stdout.write('usage: sweepwise <command> [options]\n');
