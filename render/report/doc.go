// Package report writes an access.Report as text for people and as JSON for
// programs. It adds no judgement: every word and number stands in the report.
package report
