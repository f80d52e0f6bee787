package step

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"path"
	"strings"

	"stepscan/step/p21"
)

// unpack opens gzip and zip containers, told by their first bytes and not by
// the file's ending. packed names the container, "" for plain text. No more
// than limit bytes come out.
func unpack(src []byte, limit int64) (text []byte, packed string, err error) {
	switch {
	case bytes.HasPrefix(src, []byte("\x1F\x8B")):
		text, err = gunzip(src, limit)
		return text, "gzip", err
	case bytes.HasPrefix(src, []byte("PK\x03\x04")):
		text, err = unzip(src, limit)
		return text, "zip", err
	}
	return src, "", nil
}

func gunzip(src []byte, limit int64) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(src))
	if err != nil {
		return nil, &p21.NotStepError{What: "it is compressed (gzip) and damaged: " + err.Error()}
	}
	return readCapped(z, limit, "gzip")
}

// unzip reads the one STEP file inside of an archive; paths in it mean nothing.
func unzip(src []byte, limit int64) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(src), int64(len(src)))
	if err != nil {
		return nil, &p21.NotStepError{What: "it is a damaged zip archive: " + err.Error()}
	}
	var found *zip.File
	for _, f := range z.File {
		switch strings.ToLower(path.Ext(f.Name)) {
		case ".stp", ".step", ".p21":
			if found != nil {
				return nil, &p21.NotStepError{What: "it is a zip archive with several STEP files; unpack it first"}
			}
			found = f
		}
	}
	if found == nil {
		return nil, &p21.NotStepError{What: "it is a zip archive without a STEP file"}
	}
	in, err := found.Open()
	if err != nil {
		return nil, &p21.NotStepError{What: "it is a zip archive that cannot be opened: " + err.Error()}
	}
	defer in.Close()
	return readCapped(in, limit, "zip")
}

func readCapped(in io.Reader, limit int64, kind string) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(in, limit+1))
	if int64(len(text)) > limit {
		return nil, &LimitError{What: fmt.Sprintf("the %s file unpacks to more than %d bytes", kind, limit)}
	}
	if err != nil {
		return nil, &p21.NotStepError{What: fmt.Sprintf("it is compressed (%s) and damaged: %v", kind, err)}
	}
	return text, nil
}
