// Package table holds the few dimensions of standard fasteners that tell one
// from another: threads, heads, drives, nuts and washers, with their sources.
// It is data with look-ups; what a shape is, package fastener decides.
package table
