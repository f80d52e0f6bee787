package step

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"

	"golang.org/x/text/encoding"

	"stepscan/step/p21"
)

// Options bound what a reading costs. Zero values stand for the defaults.
type Options struct {
	// Jobs is how many bodies are decoded at once; 0 means one a core. It does
	// not change the result.
	Jobs int
	// MaxOccurrences bounds the placed uses that a small file can multiply
	// into; 0 means 200,000, or what MaxMemory has room for where that is given.
	MaxOccurrences int
	// MaxBytes bounds the text that a compressed file unpacks to; 0 means 1 GiB.
	MaxBytes int64
	// MaxMemory bounds what is made out of the text, in bytes; 0 stands for
	// limits in proportion to the file. See Memory for what it covers.
	MaxMemory int64
	// Encoding is that of text that is not ASCII; nil for UTF-8, and a guess
	// where that does not fit. See p21.EncodingNamed.
	Encoding encoding.Encoding
	// Structure leaves the bodies undecoded: the tree, names and placements
	// are read, and each body has its name and number but no faces.
	Structure bool
	// Walk leaves the occurrences unlisted: Assembly.All makes each when its turn
	// comes, so that they take no memory however often a part is placed.
	Walk bool
	// Hidden keeps what the file hides. It is listed in Assembly.Hidden either way.
	Hidden bool
}

func (o Options) withDefaults() Options {
	if o.Jobs <= 0 {
		o.Jobs = runtime.GOMAXPROCS(0)
	}
	if o.MaxOccurrences <= 0 {
		o.MaxOccurrences = o.roomForOccurrences()
	}
	if o.MaxBytes <= 0 {
		o.MaxBytes = 1 << 30
	}
	return o
}

// ReadFile reads a file into an assembly. Its errors tell apart:
//
//   - what the operating system says (errors.Is fs.ErrNotExist and the like);
//   - bytes that are no STEP text: *p21.NotStepError;
//   - a text too damaged to find a data section in: *p21.SyntaxError;
//   - a text that multiplies beyond the limits: *LimitError;
//   - the context's end: its own error.
//
// Shapes that the file leaves to other files are read from its folder, and from
// nowhere else; one that is not there is a Skip.
//
// A sound file without any body is no error here: ask RequireBodies where bodies
// are needed.
func ReadFile(ctx context.Context, path string, opt Options) (*Assembly, error) {
	src, err := readAll(ctx, path)
	if err != nil {
		return nil, err
	}
	asm, err := Read(ctx, filepath.Base(path), src, opt)
	if err != nil {
		return nil, err
	}
	return link(ctx, asm, filepath.Dir(path), opt.withDefaults())
}

// readAll reads a file and does not wait for it longer than the context lasts:
// a pipe may never get a writer.
func readAll(ctx context.Context, path string) (src []byte, err error) {
	done := make(chan struct{})
	var got []byte
	var fault error
	go func() {
		defer close(done)
		got, fault = readWhole(path)
	}()
	select {
	case <-done:
		return got, fault
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// readWhole reads a file or a pipe up to the size that the scanner takes. A
// device has no end: it is refused before it is opened.
func readWhole(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, &os.PathError{Op: "read", Path: path, Err: errIsFolder}
	case info.Mode()&(os.ModeDevice|os.ModeSocket) != 0:
		return nil, &os.PathError{Op: "read", Path: path, Err: errIsDevice}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info.Size() > p21.MaxSize {
		return nil, fmt.Errorf("%s: %w", filepath.Base(path), p21.ErrTooLarge)
	}
	src := make([]byte, 0, info.Size()+512) // one more read tells the end without growing
	buf := bytes.NewBuffer(src)
	if _, err := buf.ReadFrom(io.LimitReader(f, p21.MaxSize+1)); err != nil {
		return nil, err
	}
	return buf.Bytes(), nil
}

// Read reads the content of a file into an assembly; name is the file's, for
// reports. The errors are those of ReadFile without the operating system's.
// src must not change while the call lasts; the assembly does not keep it. Other
// files are not read: Part.External names those that would be.
func Read(ctx context.Context, name string, src []byte, opt Options) (asm *Assembly, err error) {
	opt = opt.withDefaults()
	defer func() {
		if p := recover(); p != nil { // a broken promise of our own code stops at this door
			asm, err = nil, fmt.Errorf("%s: internal fault while reading: %v", name, p)
		}
	}()
	hash := startHash(src, opt.Jobs)
	defer hash.wait() // it looks at src, which is the caller's again after this call
	size := int64(len(src))
	text, in, err := unpack(src, opt.MaxBytes)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	f, err := p21.Scan(text, p21.Options{Jobs: opt.Jobs, MaxMemory: opt.MaxMemory, Encoding: opt.Encoding, Arity: arityOf})
	if limit := (*p21.LimitError)(nil); errors.As(err, &limit) {
		err = &LimitError{What: limit.What, Memory: true}
	} else if err != nil && in.cut { // too little came out to read
		err = damaged(in.kind, 0, io.ErrUnexpectedEOF)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	r := newReader(ctx, f, opt)
	r.asm.Source = Source{
		File: name, Bytes: size,
		Schemas: cleanAll(f.Header.Schemas), System: clean(f.Header.System),
		Preprocessor: clean(f.Header.Preprocessor), Written: clean(f.Header.Written), Truncated: f.Truncated, CutOff: f.CutOff, Empty: f.Len() == 0,
	}
	switch {
	case in.cut:
		r.note(0, in.kind, "read out of a compressed file that is cut off, as far as it goes")
	case in.kind != "":
		r.list(fault{entity: in.kind, why: "read out of the compressed file", aside: true})
	}
	if err := r.read(name); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	r.asm.Source.SHA256 = hash.wait()
	r.f = nil // the text; a walk over the occurrences has no need of it
	return r.asm, nil
}

// hash is the file's SHA-256, worked out beside the reading: it takes as long
// as the index does.
type hash struct {
	done chan struct{}
	hex  string
}

// startHash works with one job before it returns, else on its own.
func startHash(src []byte, jobs int) *hash {
	h := &hash{done: make(chan struct{})}
	work := func() {
		sum := sha256.Sum256(src)
		h.hex = hex.EncodeToString(sum[:])
		close(h.done)
	}
	if jobs == 1 {
		work()
	} else {
		go work()
	}
	return h
}

func (h *hash) wait() string {
	<-h.done
	return h.hex
}

// SolidCount is the number of different solids that were read, each once
// however often it is placed.
func (a *Assembly) SolidCount() int {
	n := 0
	for i := range a.Parts {
		for _, b := range a.Parts[i].Bodies {
			if b.Solid {
				n++
			}
		}
	}
	return n
}
