package p21

import (
	"bytes"
	"context"
	"fmt"

	"stepscan/geom/workers"
)

// Long texts are cut into chunks that are read side by side. Where a chunk may
// start is a guess: what looks like the start of a record may stand in a string
// or a comment. So each chunk is read as if its guess were right, and used only
// if the records in front of it end exactly there; otherwise its stretch is
// read again. Since reading on from a place depends on nothing but the place,
// the result is that of reading from the start, for every text.

const (
	// minChunk is the least worth a goroutine, some tenth of a millisecond.
	minChunk = 1 << 18
	// chunksPerJob evens out the work. Few, since in a hostile text each chunk
	// may look as far as the end.
	chunksPerJob = 4
	// guessReach is how far a start is searched for.
	guessReach = 1 << 20
)

// chunkCount is how many chunks a text of n bytes is cut into.
func chunkCount(n, jobs int) int {
	if jobs <= 1 {
		return 1
	}
	return max(1, min(chunksPerJob*jobs, n/minChunk))
}

// chunk is a stretch of a DATA section and what was found in it.
type chunk struct {
	start, until int
	from, room   int // its part of the table

	recs     []record
	words    words
	most     ID
	falls    bool
	warnings warnings
	stop     int // where the scan got to: at or behind until unless something else came
}

// ahead holds the chunks that are read and not yet used, by rising start, and
// the table that all records go to.
type ahead struct {
	chunks []*chunk
	table  []record
}

// lookAhead makes the record table, and reads a long text's chunks into it.
func (s *scanner) lookAhead() error {
	if s.ahead.table != nil {
		return nil
	}
	cuts := cutPoints(s.src, s.pos, s.chunks)
	all := make([]*chunk, len(cuts)-1)
	s.each(len(all), func(i int) {
		all[i] = &chunk{start: cuts[i], until: cuts[i+1], room: mostRecords(s.src[cuts[i]:cuts[i+1]])}
	})
	size := 0
	for _, c := range all {
		c.from, c.room, size = size, size+c.room, size+c.room
	}
	if need := int64(size) * bytesPerRecord; need > s.opt.MaxMemory {
		return &LimitError{What: fmt.Sprintf("the index of some %d records takes %d bytes, and the limit is %d", size, need, s.opt.MaxMemory)}
	}
	s.ahead.table = make([]record, size+1)
	s.recs = s.ahead.table[:0]
	if len(all) <= 1 {
		return nil
	}
	s.each(len(all), func(i int) { all[i].scan(s.src, s.opt, s.ahead.table) })
	s.ahead.chunks = all
	return nil
}

func (s *scanner) each(n int, do func(i int)) {
	workers.Run(context.Background(), n, s.opt.Jobs, do)
}

// cutPoints returns where up to n chunks of the text from p on start, and
// where the text ends.
func cutPoints(src []byte, p, n int) []int {
	cuts := []int{p}
	step := (len(src) - p) / n
	for i := 1; i < n; i++ {
		last := cuts[len(cuts)-1]
		if at := guessStart(src, max(p+i*step, last+1)); at > last {
			cuts = append(cuts, at)
		}
	}
	return append(cuts, len(src))
}

// guessStart finds "#12=" or "#12 =" behind a semicolon, -1 where there is
// none near.
func guessStart(src []byte, p int) int {
	for end := min(len(src), p+guessReach); p < end; p++ {
		i := bytes.IndexByte(src[p:end], '#')
		if i < 0 {
			break
		}
		p += i
		b := p
		for b > 0 && space(src[b-1]) {
			b--
		}
		e := p + 1
		for e < end && (digit(src[e]) || src[e] == ' ') {
			e++
		}
		if b > 0 && src[b-1] == ';' && e < end && src[e] == '=' {
			return p
		}
	}
	return -1
}

// mostRecords is how many records a sound text may have: one a semicolon. The
// least record, "#1=A();", is 7 bytes long: what a text full of semicolons
// claims beyond that is not believed.
func mostRecords(src []byte) int {
	return min(bytes.Count(src, []byte{';'}), len(src)/7+1)
}

func (c *chunk) scan(src []byte, opt Options, table []record) {
	s := scanner{src: src, opt: opt, guess: true, pos: c.start, recs: table[c.from:c.from:c.room], words: newWords()}
	s.records(c.until)
	c.recs, c.words, c.most, c.falls, c.warnings, c.stop = s.recs, s.words, s.most, s.falls, s.warnings, s.pos
}

// next is the first chunk that starts at or behind p, nil if there is none.
// Those in front of it started at no record.
func (a *ahead) next(p int) *chunk {
	for len(a.chunks) > 0 && a.chunks[0].start < p {
		a.chunks = a.chunks[1:]
	}
	if len(a.chunks) == 0 {
		return nil
	}
	return a.chunks[0]
}

// adopted takes over the chunk that starts where the scan has got to.
func (s *scanner) adopted() bool {
	c := s.ahead.next(s.pos)
	if c == nil || c.start != s.pos {
		return false
	}
	s.ahead.chunks = s.ahead.chunks[1:]
	if len(s.words.all)+len(c.words.all) > maxWords {
		return false // which of the names are too many depends on those in front
	}
	s.widen(c.room)
	n := len(s.recs)
	s.recs = append(s.recs, c.recs...)
	s.words.adopt(&c.words, s.recs[n:])
	for _, w := range c.warnings.kept {
		s.warnings.add(w, s.opt.MaxWarnings)
	}
	s.warnings.more += c.warnings.more
	s.falls = s.falls || c.falls || len(s.recs) > n && s.recs[n].id() <= s.most // not c.recs: they have moved
	s.most = max(s.most, c.most)
	s.pos = c.stop
	return true
}

// nextChunk is where the next chunk starts, the text's length where there is
// none; up to its part the table is free for what is read until then.
func (s *scanner) nextChunk() int {
	c := s.ahead.next(s.pos)
	if c == nil {
		s.widen(len(s.ahead.table))
		return len(s.src)
	}
	s.widen(c.from)
	return c.start
}

// widen lets the records reach up to a place in the table, unless they have
// outgrown it.
func (s *scanner) widen(end int) {
	if t := s.ahead.table; cap(s.recs) > 0 && &s.recs[:1][0] == &t[0] {
		s.recs = t[:len(s.recs):max(end, 1)]
	}
}

// adopt renumbers a chunk's records by the words of all.
func (t *words) adopt(of *words, recs []record) {
	same := true
	to := make([]word, len(of.all))
	for w := 1; w < len(of.all); w++ {
		to[w] = t.add(of.all[w].name, of.all[w].leaves)
		same = same && to[w] == word(w)
	}
	if same {
		return
	}
	for i := range recs {
		recs[i].word = to[recs[i].word]
	}
}
