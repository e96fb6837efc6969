"""Commands about what the store keeps: parts, their health, reports and pages."""
