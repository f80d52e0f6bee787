// Package render is the parent of what people see: view (line pictures),
// sheet (annotated drawings) and report (text and data). None of them decides
// anything.
package render
