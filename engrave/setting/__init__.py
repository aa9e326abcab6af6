"""Line breaks, size and position: words laid on a lid as large as the room and good taste allow."""
