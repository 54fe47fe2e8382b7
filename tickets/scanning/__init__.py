"""What one scanned or typed line says, and the one box that takes it."""
