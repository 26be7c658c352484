"""For other programs: JSON, CSV and FHIR."""
