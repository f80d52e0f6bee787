package tess

import (
	"context"

	"stepscan/geom/workers"
)

// parallel calls do(0) to do(jobs-1) on up to n workers, all of them whatever
// becomes of the context: a face that is not meshed any more says so itself.
func parallel(n, jobs int, do func(i int)) {
	workers.Run(context.Background(), jobs, max(1, n), do)
}
