"""What is printed: certificates, histories and labels as PDF."""
