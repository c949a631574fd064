package trace

import (
	"context"
	"io"
)

// job is one block on its way from the reader over a worker to the cursor.
type job struct {
	buf   []byte
	block block
	batch batch
	err   error
	done  chan struct{}
}

// run cuts src into blocks, parses them with several workers and hands the
// batches to consume in the order of the file. consume must not keep a batch.
// The number of workers changes nothing but the time it takes. Where run ends
// early, a read of src that is under way goes on in the background: a pipe that
// nobody writes to must not hold up the end of the program.
func (p *plan) run(ctx context.Context, src *source, r io.Reader, firstLine int64, workers int, consume func(*batch) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	inFlight := 2*workers + 1
	free := make(chan *job, inFlight)
	for range inFlight {
		free <- &job{done: make(chan struct{}, 1)}
	}
	work := make(chan *job, inFlight)
	order := make(chan *job, inFlight)
	for range workers {
		go func() {
			for j := range work {
				p.parse(j.block, &j.batch)
				j.done <- struct{}{}
			}
		}()
	}
	go func() {
		defer close(work)
		defer close(order)
		defer src.close()
		readBlocks(ctx, &blocks{r: r, line: firstLine}, free, order, work)
	}()
	for {
		var j *job
		select {
		case j = <-order:
		case <-ctx.Done():
		}
		if err := ctx.Err(); err != nil || j == nil {
			return err
		}
		if j.err == io.EOF {
			return nil
		}
		if j.err != nil {
			return j.err
		}
		<-j.done
		if err := consume(&j.batch); err != nil {
			return err
		}
		if j.batch.err != nil {
			return j.batch.err
		}
		free <- j
	}
}

// readBlocks fills free jobs with blocks until the end, an error or ctx. The
// channels have room for every job there is: only free makes it wait.
func readBlocks(ctx context.Context, bs *blocks, free <-chan *job, order, work chan<- *job) {
	for {
		var j *job
		select {
		case j = <-free:
		case <-ctx.Done():
			return
		}
		if j.buf == nil {
			j.buf = make([]byte, blockBytes+maxLine+1)
		}
		j.block, j.err = bs.next(j.buf)
		order <- j
		if j.err != nil {
			return
		}
		work <- j
	}
}
