"""What a person types of products, people, sprayers and the business."""
