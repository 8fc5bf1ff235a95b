"""diag: a cooling-system fault-tree diagnostic assistant."""
