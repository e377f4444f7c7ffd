"""What the study is: its sets, clips and questions, and a copy of it."""
