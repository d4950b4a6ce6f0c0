"""Times SciPy's sparse solver on a film's system. Arguments: file of triplets, file of right-hand sides, unknowns, right-hand sides.
Prints the best of three: seconds of processor time for factor and solve together."""
import sys
import time

import numpy as np
import scipy.sparse as sparse
import scipy.sparse.linalg as linalg

triplets = np.fromfile(sys.argv[1]).reshape(-1, 3)
n, m = int(sys.argv[3]), int(sys.argv[4])
rhs = np.fromfile(sys.argv[2]).reshape(m, n).T.copy()
row, col, value = triplets[:, 0].astype(int), triplets[:, 1].astype(int), triplets[:, 2]
lower = sparse.coo_matrix((value, (row, col)), shape=(n, n)).tocsc()
matrix = (lower + sparse.tril(lower, -1).T).tocsc()
best = float("inf")
for _ in range(3):
    begin = time.process_time()
    linalg.splu(matrix).solve(rhs)
    best = min(best, time.process_time() - begin)
print(best)
