// Package tool is the catalogue of what a bench has: for each drive and size
// the tools that fit, each as the solid that driving sweeps. Every figure
// names its source.
package tool
