"""What a bolt is and bears: threads, grades and their strength, nuts, steel when hot."""
