package step

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"stepscan/step/p21"
)

// container is what a text came in.
type container struct {
	kind string // "gzip", "zip" or "" for plain text
	cut  bool   // it stops early: the text is what was in it up to there
}

// unpack opens gzip and zip containers, told by their first bytes and not by
// the file's ending. No more than limit bytes come out.
func unpack(src []byte, limit int64) (text []byte, in container, err error) {
	switch {
	case bytes.HasPrefix(src, []byte("\x1F\x8B")):
		in.kind = "gzip"
		text, in.cut, err = gunzip(src, limit)
	case bytes.HasPrefix(src, []byte("PK\x03\x04")):
		in.kind = "zip"
		text, err = unzip(src, limit)
	default:
		text = src
	}
	return text, in, err
}

// gunzip gives the text, and of a file that stops early what there is of it.
func gunzip(src []byte, limit int64) (text []byte, cut bool, err error) {
	z, err := gzip.NewReader(bytes.NewReader(src))
	if err != nil {
		return nil, false, damaged("gzip", limit, err)
	}
	text, err = readCapped(z, limit)
	if cut = errors.Is(err, io.ErrUnexpectedEOF) && len(text) > 0; cut {
		err = nil
	}
	return text, cut, damaged("gzip", limit, err)
}

// unzip reads the one STEP file inside of an archive; paths in it mean nothing.
func unzip(src []byte, limit int64) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(src), int64(len(src)))
	if err != nil {
		return nil, &p21.NotStepError{What: "it is a damaged zip archive: " + err.Error()}
	}
	found, err := member(z.File)
	if err != nil {
		return nil, err
	}
	in, err := found.Open()
	if err != nil {
		return nil, &p21.NotStepError{What: "it is a zip archive that cannot be opened: " + err.Error()}
	}
	defer in.Close()
	text, err := readCapped(in, limit)
	return text, damaged("zip", limit, err)
}

// encrypted is the bit of a member's flags that says so.
const encrypted = 1 << 0

// member is the STEP file among what an archive holds: the only one with a STEP
// file's ending, or the only file at all, which is then told by its content.
func member(list []*zip.File) (*zip.File, error) {
	var files, steps []*zip.File
	for _, f := range list {
		name := path.Base(f.Name)
		if f.FileInfo().IsDir() || strings.HasPrefix(name, "._") { // the latter: what some systems keep beside each file
			continue
		}
		files = append(files, f)
		switch strings.ToLower(path.Ext(name)) {
		case ".stp", ".step", ".p21":
			steps = append(steps, f)
		}
	}
	switch {
	case len(steps) > 1:
		return nil, &p21.NotStepError{What: "it is a zip archive with several STEP files (unpack it)"}
	case len(steps) == 0 && len(files) != 1:
		return nil, &p21.NotStepError{What: "it is a zip archive without a STEP file"}
	case len(steps) == 0:
		steps = files
	}
	if steps[0].Flags&encrypted != 0 {
		return nil, &p21.NotStepError{What: "it is a zip archive with a password"}
	}
	return steps[0], nil
}

// readCapped reads up to a limit; errLimit is the error of more than that.
func readCapped(in io.Reader, limit int64) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(in, limit+1))
	if int64(len(text)) > limit {
		return nil, errLimit
	}
	return text, err
}

var errLimit = errors.New("beyond the limit")

// damaged says of an error of unpacking what it means for the file.
func damaged(kind string, limit int64, err error) error {
	switch {
	case err == nil:
		return nil
	case err == errLimit:
		return &LimitError{What: fmt.Sprintf("the %s file unpacks to more than %d bytes", kind, limit)}
	}
	return &p21.NotStepError{What: fmt.Sprintf("it is compressed (%s) and damaged: %v", kind, err)}
}
